"""Writing down a substance, changing what is known of it, and keeping it no longer."""

from collections.abc import Iterable
from typing import Any

from django.db import models
from django.utils.text import slugify

from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Changed, Refused
from shop.safety.models import ExposureLimit, Hazard, Property, Statement, Substance
from shop.safety.rules.substances import (
    TWICE,
    SubstanceFacts,
    WantedHazard,
    WantedLimit,
    WantedProperty,
    WantedStatement,
    checked,
    checked_hazards,
    checked_limits,
    checked_properties,
    checked_statements,
)

#: The chip of the starter content. No source that was read settles its class or UN number, so it is given neither.
CHIP = "cut-chip"
_CHIP_UNCLASSED = (
    "Cut chip is given neither a hazard class nor a UN number here: who made the lacquer, and who takes the waste, "
    "decide."
)
#: The facts that are columns of the substance.
_COLUMNS = (
    *("name", "form", "other_names", "what_for", "cas", "un_number", "un_name", "supplier"),
    *("fire_use", "fire_never", "fire_source", "note"),
)


@action(roles=ENGINEERS)
def add_substance(*, by: Person, facts: SubstanceFacts) -> Substance:
    """Write down a substance that is kept here. Its classification and figures come after, on their own pages."""
    told = checked(facts)
    not_taken(Substance, told.name, sentence=TWICE)
    with one_of_its_name(TWICE):
        made = Substance.objects.create(slug=_slug(told.name), groups=list(told.groups), **_columns(told))
    made.items.set(told.items)
    return made


@action(roles=ENGINEERS)
def change_substance(*, by: Person, substance: Substance, version: int, facts: SubstanceFacts) -> Substance:
    """Change what it is and what it is for. Its address stays. Changed if somebody changed it since `version`.

    Refuses a UN number for what says why it is given no hazard class: whoever classes it gives it both.
    """
    told = checked(facts)
    fresh = still_as_read(substance, version)
    if told.un_number and fresh.no_class_why:
        sentence = "It says that it is given no hazard class here, and so takes no UN number either."
        raise Refused(_CHIP_UNCLASSED if fresh.slug == CHIP else sentence, field="un_number")
    not_taken(Substance, told.name, sentence=TWICE, but=fresh)
    for name, value in _columns(told).items():
        setattr(fresh, name, value)
    fresh.groups = list(told.groups)
    with one_of_its_name(TWICE):
        _keep(fresh)
    fresh.items.set(told.items)
    return fresh


@action(roles=ENGINEERS)
def classify_substance(
    *, by: Person, substance: Substance, version: int, lines: list[WantedHazard], no_class_why: str = ""
) -> Substance:
    """Set its hazard classes, or why it is given none here. Refuses both at once, and neither."""
    why = words(no_class_why, field="no_class_why", longest=300)
    told = checked_hazards(lines)
    fresh = still_as_read(substance, version)
    if fresh.slug == CHIP and (told or not why):
        raise Refused(_CHIP_UNCLASSED, field="no_class_why")
    if told and why:
        raise Refused("Either it is classed, or it says why it is not. Empty one of them.", field="no_class_why")
    if not told and not why:
        raise Refused("Give its hazard classes, or say why it is given none here.", field="no_class_why")
    if why and fresh.un_number:
        raise Refused("It has a UN number, and so somebody classed it. Take that off first.", field="no_class_why")
    fresh.no_class_why = why
    _keep(fresh)
    _put(Hazard, told, fresh)
    return fresh


def _put(model: type[models.Model], told: Iterable[object], substance: Substance) -> None:
    """Put these lines in place of those the substance has of that table."""
    model._default_manager.filter(substance=substance).delete()
    model._default_manager.bulk_create(model(substance=substance, **vars(line)) for line in told)


@action(roles=ENGINEERS)
def change_statements(*, by: Person, substance: Substance, version: int, lines: list[WantedStatement]) -> Substance:
    """Set its precautionary (P) and supplementary (EUH) statements, each with what fills its gap."""
    told = checked_statements(lines)
    fresh = _keep(still_as_read(substance, version))
    _put(Statement, told, fresh)
    return fresh


@action(roles=ENGINEERS)
def change_properties(*, by: Person, substance: Substance, version: int, lines: list[WantedProperty]) -> Substance:
    """Set its physical data. Where sources differ each has its line; none is chosen."""
    told = checked_properties(lines)
    fresh = _keep(still_as_read(substance, version))
    _put(Property, told, fresh)
    return fresh


@action(roles=ENGINEERS)
def change_exposure_limits(*, by: Person, substance: Substance, version: int, lines: list[WantedLimit]) -> Substance:
    """Set what bodies say of how much of it may be in the air; those no longer in force stay as such."""
    told = checked_limits(lines)
    fresh = _keep(still_as_read(substance, version))
    _put(ExposureLimit, told, fresh)
    return fresh


@action(roles=ENGINEERS)
def stop_substance(*, by: Person, substance: Substance) -> Substance:
    """Say that it is kept here no longer. Its page, its supplier's sheets and what was reported of it stay."""
    return _switch(substance, on=False, already="It is not kept here any more already.")


@action(roles=ENGINEERS)
def resume_substance(*, by: Person, substance: Substance) -> Substance:
    """Say that it is kept here again."""
    return _switch(substance, on=True, already="It is kept here already.")


def _switch(substance: Substance, *, on: bool, already: str) -> Substance:
    held = Substance.objects.select_for_update(of=("self",)).get(pk=substance.pk)
    if held.is_active is on:
        raise Changed(already)
    held.is_active = on
    held.version += 1
    held.save(update_fields=["is_active", "version"])
    return held


def _columns(told: SubstanceFacts) -> dict[str, Any]:
    return {name: getattr(told, name) for name in _COLUMNS}


def _keep(fresh: Substance) -> Substance:
    """Save it as the shop's own: whatever came with the program has been looked over by somebody here."""
    fresh.version += 1
    fresh.is_starter = False
    fresh.save()
    return fresh


def _slug(name: str) -> str:
    """A fresh address made of the name."""
    stem = slugify(name)[:32].strip("-") or "substance"
    taken = set(Substance.objects.filter(slug__startswith=stem).values_list("slug", flat=True))
    return next(slug for slug in (stem, *(f"{stem}-{n}" for n in range(2, 1000))) if slug not in taken)
