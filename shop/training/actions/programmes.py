"""Programmes: beginning one, copying it, saying what it is for, stopping it and taking it up again."""

from collections.abc import Sequence

from shop import clock
from shop.calc import order
from shop.people.models import OWNERS, Person
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Changed, Doubt, ask_unless_sure
from shop.training import editions
from shop.training.models import Programme, ProgrammeChange, Question, Step
from shop.training.queries.programmes import needs_of, under_way_in

_TAKEN = "There is a programme of that name already. Choose another."
_LONGEST = 300


def tell_change(programme: Programme, what: str, *, by: Person, step: Step | None = None) -> None:
    """Keep a sentence about a change, for those who are under way."""
    said = what if len(what) <= _LONGEST else what[: _LONGEST - 1] + "…"
    ProgrammeChange.objects.create(programme=programme, step=step, what=said, at=clock.now(), by=by)


@action(roles=OWNERS)
def add_programme(*, by: Person, name: str, why: str = "") -> Programme:
    """Begin a programme, without steps yet."""
    name = not_taken(Programme, words(name, field="name", longest=80, needed=True), sentence=_TAKEN)
    with one_of_its_name(_TAKEN):
        made = Programme.objects.create(name=name, why=words(why, field="why", longest=500))
    tell_change(made, "It was begun.", by=by)
    return made


@action(roles=OWNERS)
def copy_programme(*, by: Person, programme: Programme, name: str) -> Programme:
    """Begin a programme with the steps and questions of another, as they stand now; records stay with the other.

    Stopped steps are not copied: whoever rests on one rests in the copy on what that one needs.
    """
    held = Programme.objects.select_for_update().get(pk=programme.pk)
    name = not_taken(Programme, words(name, field="name", longest=80, needed=True), sentence=_TAKEN)
    with one_of_its_name(_TAKEN):
        made = Programme.objects.create(name=name, why=held.why)
    _copy_steps(held, made, by)
    tell_change(made, f"It was copied from “{held.name}”.", by=by)
    return made


def _copy_steps(programme: Programme, made: Programme, by: Person) -> None:
    kept = list(programme.steps.select_related("act"))
    active = {step.pk for step in kept if step.is_active}
    needs = order.without({pk for pk in (step.pk for step in kept) if pk not in active}, needs_of([programme]))
    copies: dict[int, Step] = {}
    for step in kept:
        if step.pk not in active:
            continue
        columns = {
            field.name: getattr(step, field.name)
            for field in Step._meta.concrete_fields
            if field.name not in ("id", "programme", "edition", "edition_note", "edition_at", "version")
        }
        copies[step.pk] = Step.objects.create(programme=made, **columns)
    for pk, copy in copies.items():
        copy.needs.set([copies[before] for before in needs[pk]])
        editions.keep_step(copy, by=by)
    asked = Question.objects.filter(step__in=copies, is_active=True).order_by("step", "order", "pk")
    new = [
        Question(
            step=copies[one.step_id],
            text=one.text,
            choices=one.choices,
            right=one.right,
            reason=one.reason,
            order=one.order,
        )
        for one in asked
    ]
    editions.keep_questions(Question.objects.bulk_create(new), by=by)


@action(roles=OWNERS)
def change_programme(*, by: Person, programme: Programme, version: int, name: str, why: str = "") -> Programme:
    """Call it otherwise, or say otherwise what it is for."""
    fresh = still_as_read(programme, version)
    name = not_taken(Programme, words(name, field="name", longest=80, needed=True), sentence=_TAKEN, but=fresh)
    why = words(why, field="why", longest=500)
    if name != fresh.name:
        tell_change(fresh, f"It was called “{fresh.name}”.", by=by)
    if why != fresh.why:
        tell_change(fresh, "What it is for was reworded.", by=by)
    fresh.name, fresh.why, fresh.version = name, why, fresh.version + 1
    with one_of_its_name(_TAKEN):
        fresh.save()
    return fresh


@action(roles=OWNERS)
def stop_programme(*, by: Person, programme: Programme, version: int, why: str, sure: Sequence[str] = ()) -> Programme:
    """Let nobody begin it any more. Whoever is under way goes on to its end; asked about, where somebody is."""
    fresh = still_as_read(programme, version)
    if not fresh.is_active:
        raise Changed("It is stopped already.")
    why = words(why, field="why", longest=200, needed=True)
    ask_unless_sure(_about_those_under_way(fresh), sure)
    fresh.is_active, fresh.version = False, fresh.version + 1
    fresh.save(update_fields=["is_active", "version"])
    tell_change(fresh, f"It was stopped: nobody else begins it. {why}", by=by)
    return fresh


def _about_those_under_way(programme: Programme) -> list[Doubt]:
    going = under_way_in(programme)
    if not going:
        return []
    names = ", ".join(one.person.name for one in going)
    key = "under-way-" + "-".join(str(one.person_id) for one in going)
    return [
        Doubt(
            key,
            "why",
            f"Under way in it: {names}. They go on to its end, and what is on record stays; to end it for one of them, "
            "end it on their own page.",
            confirm="Stop it for everybody else; who is under way goes on.",
        )
    ]


@action(roles=OWNERS)
def resume_programme(*, by: Person, programme: Programme, version: int) -> Programme:
    """Let people begin it again, as it stands now."""
    fresh = still_as_read(programme, version)
    if fresh.is_active:
        raise Changed("It is not stopped.")
    fresh.is_active, fresh.version = True, fresh.version + 1
    fresh.save(update_fields=["is_active", "version"])
    tell_change(fresh, "It was taken up again.", by=by)
    return fresh
