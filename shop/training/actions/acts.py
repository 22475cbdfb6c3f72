"""Acts that need an authority, and giving it and taking it back."""

import re
from collections.abc import Collection
from datetime import date
from typing import Any

from dateutil.relativedelta import relativedelta

from shop import clock
from shop.people.authority import is_open_to, only_words
from shop.people.models import ENGINEERS, HANDS, OWNERS, Person
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.training.models import Act, Authority, AuthorityWithdrawn
from shop.training.queries.acts import on_day
from shop.wording import in_full

_TAKEN = "There is an act of that name already. Choose another."
#: The furthest an authority runs, in years.
FURTHEST = 10


def _lines(text: str, *, field: str, longest: int) -> str:
    """Text of a line a point, without empty lines and space around them."""
    lines = [" ".join(line.split()) for line in text.splitlines()]
    said = "\n".join(line for line in lines if line)
    if len(said) > longest:
        raise Refused(f"Keep it to {longest} characters; these are {len(said)}.", field=field)
    return said


def _months(months: int | None) -> int | None:
    if months is not None and not 1 <= months <= 12 * FURTHEST:
        raise Refused(f"Give 1 to {12 * FURTHEST} months, or leave it empty for no end.", field="months")
    return months


def _card(*, why: str, steps: str, goes_wrong: str, sheet: str, months: int | None) -> dict[str, Any]:
    """What an act's card says besides its name, checked."""
    return {
        "why": words(why, field="why", longest=500),
        "steps": _lines(steps, field="steps", longest=3000),
        "goes_wrong": _lines(goes_wrong, field="goes_wrong", longest=2000),
        "sheet": sheet,
        "months": _months(months),
    }


@action(roles=ENGINEERS)
def add_act(
    *,
    by: Person,
    name: str,
    why: str = "",
    steps: str = "",
    goes_wrong: str = "",
    sheet: str = "",
    months: int | None = None,
) -> Act:
    """Name something that not everybody does alone. Duties can ask for it from then on."""
    name = words(name, field="name", longest=80, needed=True)
    slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40]
    if not slug:
        raise Refused("Give it a name with letters in it.", field="name")
    not_taken(Act, name, sentence=_TAKEN)
    if Act.objects.filter(slug=slug).exists():
        raise Refused(_TAKEN, field="name")
    act = Act(slug=slug, name=name, **_card(why=why, steps=steps, goes_wrong=goes_wrong, sheet=sheet, months=months))
    with one_of_its_name(_TAKEN):
        act.save(force_insert=True)
    return act


@action(roles=ENGINEERS)
def change_act(
    *,
    by: Person,
    act: Act,
    version: int,
    name: str,
    why: str = "",
    steps: str = "",
    goes_wrong: str = "",
    sheet: str = "",
    months: int | None = None,
) -> Act:
    """Change what an act's card says, or how long it is given for; what was given stays as it was given."""
    fresh = still_as_read(act, version)
    fresh.name = not_taken(Act, words(name, field="name", longest=80, needed=True), sentence=_TAKEN, but=fresh)
    card = _card(why=why, steps=steps, goes_wrong=goes_wrong, sheet=sheet, months=months)
    for column, said in card.items():
        setattr(fresh, column, said)
    fresh.version += 1
    with one_of_its_name(_TAKEN):
        fresh.save()
    return fresh


@action(roles=OWNERS)
def stop_act(*, by: Person, act: Act, version: int) -> Act:
    """Ask for this authority no more. One that actions of the program ask for can't be stopped."""
    fresh = still_as_read(act, version)
    if fresh.is_built_in:
        raise Refused("The program itself asks for this authority; it can be reworded, not stopped.")
    return _switch(fresh, on=False, already="It is stopped already.")


@action(roles=OWNERS)
def resume_act(*, by: Person, act: Act, version: int) -> Act:
    """Ask for it again; what was given before holds again as far as it runs."""
    return _switch(still_as_read(act, version), on=True, already="It is asked for already.")


def _switch(act: Act, *, on: bool, already: str) -> Act:
    """Ask for an act that is locked, or ask for it no more."""
    if act.is_active == on:
        raise Changed(already)
    act.is_active = on
    act.version += 1
    act.save(update_fields=["is_active", "version"])
    return act


def runs_until(act: Act, starts_on: date) -> date | None:
    """The last day of an authority that begins then, by the act's own months; None for no end."""
    if act.months is None:
        return None
    end: date = starts_on + relativedelta(months=act.months, days=-1)
    return end


def last_day(act: Act, starts_on: date, until: date | None) -> date | None:
    """The last day of an authority as it is kept: the one that was told, or by the act's months; None for no end.

    Refuses, at "until", days that run backwards, are over already, or are more than ten years.
    """
    until = until if until is not None else runs_until(act, starts_on)
    if until is not None and until < starts_on:
        raise Refused(f"That is before it begins, on {in_full(starts_on)}.", field="until")
    if until is not None and until < clock.today():
        raise Refused("That is over already.", field="until")
    if until is not None and until > starts_on + relativedelta(years=FURTHEST):
        raise Refused(f"That is more than {FURTHEST} years. Give it for less; it can be given again.", field="until")
    return until


@action(roles=OWNERS)
def give_authority(
    *, by: Person, act: Act, person: Person, note: str, starts_on: date | None = None, until: date | None = None
) -> Authority:
    """Let somebody do it alone, with the reason, which is kept. until: None by the act's own months.

    Refuses somebody who only looks in or whose role does not reach, and days as `last_day` does. One who has it that
    long already may be given it besides: what an owner gave rests on the owner's word, and not on sign-offs.
    """
    starts_on = starts_on or clock.today()
    held = Act.objects.select_for_update().get(pk=act.pk)
    if not held.is_active:
        raise Refused("This act is stopped; nobody needs an authority for it.")
    if not (person.is_active and person.role in HANDS):
        raise Refused(f"{person.name} does not work here.", field="person")
    if not is_open_to(person, held.slug):
        raise Refused(
            f"Only {only_words(held.slug)} do this, also with an authority, and {person.name} is not one of them.",
            field="person",
        )
    until = last_day(held, starts_on, until)
    note = words(note, field="note", longest=300, needed=True)
    return Authority.objects.create(
        act=held, person=person, starts_on=starts_on, until=until, note=note, at=clock.now(), by=by
    )


@action(roles=ENGINEERS)
def withdraw_authority(*, by: Person, authority: Authority, why: str, sure: Collection[str] = ()) -> AuthorityWithdrawn:
    """Take an authority back from today on; it stays on record with the reason. Twice is refused. Asks where nobody
    would be left who may do the act.

    An engineer may take back anybody's but an owner's: who sees something wrong need not wait for the owner.
    """
    held = Authority.objects.select_for_update(of=("self",)).select_related("person", "act").get(pk=authority.pk)
    if AuthorityWithdrawn.objects.filter(authority=held).exists():
        raise Changed("It was taken back already.")
    if held.person.is_owner and not by.is_owner:
        raise Refused("Only an owner takes back an owner's.")
    if held.until is not None and held.until < clock.today():
        raise Refused("It ran out already.")
    why = words(why, field="why", longest=300, needed=True)
    ask_unless_sure(_nobody_left(held), sure)
    return AuthorityWithdrawn.objects.create(authority=held, from_day=clock.today(), why=why, at=clock.now(), by=by)


def _nobody_left(gone: Authority) -> list[Doubt]:
    """The doubt about taking back the last authority by which somebody may do an act now."""
    held = Authority.objects.filter(on_day(clock.today()), act=gone.act).select_related("person")
    able = [one.pk for one in held if one.person.is_active and is_open_to(one.person, gone.act.slug)]
    if able != [gone.pk]:
        return []
    sentence = (
        f"Nobody else holds the authority “{gone.act.name}”. Nobody could then do it, nor watch another at it, until "
        "an owner gives it to somebody. Take it back all the same?"
    )
    return [Doubt(key="last", field="", sentence=sentence)]
