"""Stepping a meter from inside another action's transaction.

What a meter shows is always what was counted since its last reset, by when things happened, not by when they were
written down: a side logged at noon that was cut before the trap was emptied at ten adds nothing to the trap.
"""

from datetime import datetime

from django.db.models import F

from shop import clock
from shop.duties.models import Meter, Tick
from shop.people.models import Person
from shop.refusal import Refused


def advance(*, key: str, amount: int, at: datetime, by: Person, note: str = "") -> Tick:
    """Add `amount` (of the meter's kept unit, 0 or more) that came about at `at`.

    The tick of something older than the last reset counts 0, and its note says so. Refused if there is no such meter;
    ValueError for a negative amount.
    """
    if amount < 0:
        raise ValueError(f"amount must be 0 or more, not {amount}")
    meter = _locked(key)
    counts = amount
    if _before_reset(meter, at):
        counts, note = 0, _with(note, "from before the last reset, so not counted")
    return _step(meter, counts, at=at, by=by, note=note)


def take_back(*, key: str, amount: int, at: datetime, by: Person, note: str = "") -> Tick:
    """Undo an `advance` of `amount` that was made for `at`; never below zero.

    Nothing comes off if the meter was reset since `at`: what was counted went out with that reset. Refused and
    ValueError as in `advance`.
    """
    if amount < 0:
        raise ValueError(f"amount must be 0 or more, not {amount}")
    meter = _locked(key)
    counts = min(amount, meter.value)
    if _before_reset(meter, at):
        counts, note = 0, _with(note, "it went out with the last reset")
    return _step(meter, -counts, at=at, by=by, note=note)


def _locked(key: str) -> Meter:
    """The meter, its row held until the transaction ends: the steps of two people follow one another."""
    meter = Meter.objects.select_for_update().filter(key=key).first()
    if meter is None:
        raise Refused(f"There is no meter “{key}” in this room. Load the starter content, then try again.")
    return meter


def _before_reset(meter: Meter, at: datetime) -> bool:
    return meter.reset_at is not None and at < meter.reset_at


def _with(note: str, remark: str) -> str:
    return f"{note}; {remark}"[:300] if note else remark


def _step(meter: Meter, amount: int, *, at: datetime, by: Person, note: str) -> Tick:
    Meter.objects.filter(pk=meter.pk).update(value=F("value") + amount)
    meter.refresh_from_db(fields=["value"])
    return Tick.objects.create(
        meter=meter, amount=amount, value=meter.value, at=at, recorded_at=clock.now(), by=by, note=note[:300]
    )
