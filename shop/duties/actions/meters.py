"""What people do to meters: reset one, change its limits."""

from datetime import datetime

from django.db.models import F

from shop.duties import meters
from shop.duties.models import Meter, Tick
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, happened_at
from shop.refusal import Changed, Refused


@action(roles=HANDS)
def reset_meter(*, by: Person, meter: Meter, at: datetime | None = None, note: str = "") -> Tick:
    """Record that what the meter counts was done away with (the trap emptied, the line cleaned) at `at`.

    1. refuses a moment in the future or before the last reset; 2. writes the reset, to zero; 3. counts again what came
    about after `at`, step by step: it is still there. Returns the tick of the reset.
    """
    return meters.reset(meter=meter, at=happened_at(at), by=by, note=note)


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
