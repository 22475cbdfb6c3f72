"""What people do to meters: reset one, change its limits."""

from datetime import datetime

from django.db.models import F, QuerySet

from shop import clock
from shop.duties.models import Meter, Tick
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, happened_at
from shop.refusal import Changed, Refused


@action(roles=HANDS)
def reset_meter(*, by: Person, meter: Meter, at: datetime | None = None, note: str = "") -> Tick:
    """Record that what the meter counts was done away with (the trap emptied, the line cleaned) at `at`.

    1. holds the meter's row; 2. refuses a moment in the future or before the last reset; 3. writes the reset, to zero;
    4. counts again what came about after `at`, step by step: it is still there. Returns the tick of the reset.
    """
    now = clock.now()
    at = happened_at(at)
    held = Meter.objects.select_for_update().get(pk=meter.pk)
    if held.reset_at is not None and at < held.reset_at:
        raise Refused("There is a later reset already. Give a time after it.", field="at")
    since = list(_counted_since_reset(held).filter(at__gt=at))
    done = Tick.objects.create(
        meter=held, amount=-held.value, is_reset=True, value=0, at=at, recorded_at=now, by=by, note=note
    )
    value = 0
    for tick in since:
        step = max(tick.amount, -value)
        value += step
        Tick.objects.create(
            meter=held, amount=step, value=value, at=tick.at, recorded_at=now, by=by, note="counted after the reset"
        )
    Meter.objects.filter(pk=held.pk).update(value=value, reset_at=at)
    return done


def _counted_since_reset(meter: Meter) -> QuerySet[Tick]:
    """The meter's steps after its last reset, in the order they were written."""
    ticks = Tick.objects.filter(meter=meter, is_reset=False).order_by("id")
    last = Tick.objects.filter(meter=meter, is_reset=True).order_by("-id").first()
    return ticks.filter(id__gt=last.id) if last else ticks


@action(roles=ENGINEERS)
def change_meter(
    *,
    by: Person,
    meter: Meter,
    version: int,
    care_at: int | None,
    hold_at: int | None,
    what_to_do: str,
    caution: str,
) -> Meter:
    """Set the shop's own limits (in the kept unit; None for no limit) and words. Changed if `version` is stale."""
    for field, limit in (("care_at", care_at), ("hold_at", hold_at)):
        if limit is not None and limit <= 0:
            raise Refused("A limit must be above zero; leave it empty for none.", field=field)
    if care_at is not None and hold_at is not None and care_at > hold_at:
        raise Refused("Care must begin at or below the value for hold.", field="care_at")
    done = Meter.objects.filter(pk=meter.pk, version=version).update(
        care_at=care_at,
        hold_at=hold_at,
        what_to_do=what_to_do,
        caution=caution,
        version=F("version") + 1,
    )
    if not done:
        raise Changed(CHANGED)
    return Meter.objects.get(pk=meter.pk)
