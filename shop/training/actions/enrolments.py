"""Putting somebody on a programme, and taking them off it."""

from datetime import date, timedelta

from django.db import IntegrityError, transaction

from shop import clock
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import still_as_read, words
from shop.refusal import Changed, Refused
from shop.training.models import Enrolment, Programme
from shop.wording import in_full

_TWICE = "They go through this programme already."
#: How far ahead a first day may lie.
_AHEAD = timedelta(days=366)


def _mentor(mentor: Person | None, person: Person) -> Person | None:
    if mentor is not None and mentor.human == person.human:
        raise Refused("Choose somebody else: nobody leads themselves.", field="mentor")
    if mentor is not None and not (mentor.is_active and mentor.role in HANDS):
        raise Refused(f"{mentor.name} does not work here.", field="mentor")
    return mentor


def _first_day(day: date | None) -> date:
    today = clock.today()
    day = day or today
    if not today - _AHEAD <= day <= today + _AHEAD:
        raise Refused("That is more than a year away: look at the day again.", field="starts_on")
    return day


@action(roles=ENGINEERS)
def enrol(
    *, by: Person, programme: Programme, person: Person, mentor: Person | None = None, starts_on: date | None = None
) -> Enrolment:
    """Put somebody on a programme, from a first day (today). What they did of it before counts.

    Refuses a stopped programme, somebody who does not work here, and one who goes through it already.
    """
    held = Programme.objects.select_for_update().get(pk=programme.pk)
    if not held.is_active:
        raise Refused("This programme is stopped. Take it up again first.", field="programme")
    if not (person.is_active and person.role in HANDS):
        raise Refused(f"{person.name} does not work here.", field="person")
    if Enrolment.objects.filter(programme=held, person=person, ended_at__isnull=True).exists():
        raise Refused(_TWICE, field="person")
    mentor = _mentor(mentor, person)
    now = clock.now()
    try:
        with transaction.atomic():
            return Enrolment.objects.create(
                programme=held,
                person=person,
                mentor=mentor,
                starts_on=_first_day(starts_on),
                at=now,
                by=by,
                seen_at=now,
            )
    except IntegrityError as twice:
        raise Refused(_TWICE, field="person") from twice


@action(roles=ENGINEERS)
def change_enrolment(
    *, by: Person, enrolment: Enrolment, version: int, mentor: Person | None = None, starts_on: date | None = None
) -> Enrolment:
    """Name another mentor, or move the first day: what is expected by when follows it."""
    fresh = _open(still_as_read(enrolment, version))
    fresh.mentor = _mentor(mentor, fresh.person)
    fresh.starts_on = _first_day(starts_on) if starts_on != fresh.starts_on else fresh.starts_on
    fresh.version += 1
    fresh.save(update_fields=["mentor", "starts_on", "version"])
    return fresh


@action(roles=ENGINEERS)
def end_enrolment(*, by: Person, enrolment: Enrolment, version: int, why: str) -> Enrolment:
    """Take somebody off a programme, with the reason. What was signed and answered stays, and counts if they return."""
    fresh = _open(still_as_read(enrolment, version))
    fresh.ended_why = words(why, field="why", longest=300, needed=True)
    fresh.ended_at, fresh.ended_by = clock.now(), by
    fresh.version += 1
    fresh.save(update_fields=["ended_at", "ended_by", "ended_why", "version"])
    return fresh


@action(roles=HANDS)
def see_changes(*, by: Person, enrolment: Enrolment) -> Enrolment:
    """One has seen what changed in one's programme."""
    if enrolment.person_id != by.pk:
        raise Refused("That is somebody else's programme.")
    Enrolment.objects.filter(pk=enrolment.pk).update(seen_at=clock.now())
    enrolment.refresh_from_db()
    return enrolment


def _open(enrolment: Enrolment) -> Enrolment:
    if enrolment.ended_at is not None:
        raise Changed(f"It was ended on {in_full(clock.day_of(enrolment.ended_at))}.")
    return enrolment
