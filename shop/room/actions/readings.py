"""Taking readings and putting them right."""

from collections.abc import Collection, Mapping
from datetime import datetime

from django.db import IntegrityError

from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at
from shop.refusal import Refused, ask_unless_sure
from shop.room.models import Reading, ReadingKind
from shop.room.readings import doubts_about, impossible, take, take_all


@action(roles=HANDS)
def take_readings(
    *,
    by: Person,
    values: Mapping[ReadingKind, float],
    at: datetime | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Reading:
    """Keep any number of readings of one moment, in stored units; see readings.take_all. Returns the first of them."""
    if not values:
        raise Refused("Type at least one reading.")
    taken = take_all(values=values, at=happened_at(at), by=by, sure=sure, note=note)
    return next(iter(taken.values()))


@action(roles=HANDS)
def correct_reading(*, by: Person, reading: Reading, value: float, reason: str, sure: Collection[str] = ()) -> Reading:
    """Put a reading right by a new one of the same moment that names it; the old one stays, and counts no more.

    Refused without a reason, for the same value, and for a reading that was corrected already.
    """
    kind = ReadingKind(reading.kind)
    if not reason.strip():
        raise Refused("Say what was wrong with it.", field="reason")
    if Reading.objects.filter(corrects=reading).exists():
        raise Refused("That reading was corrected already. Correct the one that took its place.")
    if value == reading.value:
        raise Refused("That is the value already kept.", field="value")
    if sentence := impossible(kind, value, by):
        raise Refused(sentence, field="value")
    ask_unless_sure(
        doubts_about(
            kind,
            value,
            at=reading.at,
            by=by,
            cylinder=reading.cylinder,
            celsius=reading.beside_c,
            leave_out=reading,
            field="value",
        ),
        sure,
    )
    try:
        return take(
            kind=kind,
            value=value,
            at=reading.at,
            by=by,
            cylinder=reading.cylinder,
            corrects=reading,
            note=reason.strip(),
            field="value",
        )
    except IntegrityError as raced:
        raise Refused("That reading was corrected already. Correct the one that took its place.") from raced
