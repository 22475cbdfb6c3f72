"""Stepping a meter from inside another action's transaction.

What a meter shows is always what was counted since its last reset, by when things happened, not by when they were
written down: a side logged at noon that was cut before the trap was emptied at ten adds nothing to the trap. Duties
that fall by a meter count in the same way since they were last done; they are counted on here, in the same breath.

A meter that follows something (the oldest open container) has no steps: it is told since when that lasts (`follow`).

Everyone who steps a meter holds its row until the transaction ends, and takes several in the order of their keys.
"""

from collections.abc import Collection, Mapping
from datetime import datetime

from django.db.models import F, Sum

from shop import clock
from shop.duties import standing
from shop.duties.models import Duty, Meter, MeterUnit, Tick
from shop.people.models import Person
from shop.refusal import Refused


def advance(*, key: str, amount: int, at: datetime, by: Person, note: str = "") -> Tick:
    """Add `amount` (of the meter's kept unit, 0 or more) that came about at `at`.

    The tick of something older than the last reset counts 0, and its note says so. Refused if there is no such meter;
    ValueError for a negative amount.
    """
    return advance_all({key: amount}, at=at, by=by, note=note)[key]


def advance_all(
    amounts: Mapping[str, int], *, at: datetime, by: Person, note: str = "", if_there: Collection[str] = ()
) -> dict[str, Tick]:
    """`advance` several meters at once, by key. if_there: keys of meters that the room need not have."""
    return _step_all(amounts, 1, at=at, by=by, note=note, if_there=if_there)


def take_back(*, key: str, amount: int, at: datetime, by: Person, note: str = "") -> Tick:
    """Undo an `advance` of `amount` that was made for `at`; never below zero.

    Nothing comes off if the meter was reset since `at`: what was counted went out with that reset. Refused and
    ValueError as in `advance`.
    """
    return take_back_all({key: amount}, at=at, by=by, note=note)[key]


def take_back_all(
    amounts: Mapping[str, int], *, at: datetime, by: Person, note: str = "", if_there: Collection[str] = ()
) -> dict[str, Tick]:
    """`take_back` several meters at once, by key. if_there: keys of meters that the room need not have."""
    return _step_all(amounts, -1, at=at, by=by, note=note, if_there=if_there)


def _step_all(
    amounts: Mapping[str, int], way: int, *, at: datetime, by: Person, note: str, if_there: Collection[str]
) -> dict[str, Tick]:
    for amount in amounts.values():
        if amount < 0:
            raise ValueError(f"amount must be 0 or more, not {amount}")
    meters = {meter.key: meter for meter in Meter.objects.select_for_update().filter(key__in=amounts).order_by("key")}
    for key in amounts:
        if key not in meters and key not in if_there:
            raise Refused(f"There is no meter “{key}” in this room. Load the starter content, then try again.")
    ticks = []
    for key, meter in meters.items():
        counts, said = amounts[key] if way > 0 else -min(amounts[key], meter.value), note
        if meter.reset_at is not None and at < meter.reset_at:
            why = "from before the last reset, so not counted" if way > 0 else "it went out with the last reset"
            counts, said = 0, _with(note, why)
        came = way * amounts[key]
        meter.value, meter.total = meter.value + counts, meter.total + came
        if came:
            Meter.objects.filter(pk=meter.pk).update(value=F("value") + counts, total=F("total") + came)
        ticks.append(_tick(meter, counts, came=came, at=at, by=by, note=said))
    Tick.objects.bulk_create(ticks)
    _count_for_duties(list(meters.values()), {m.pk: way * amounts[key] for key, m in meters.items()}, at)
    return dict(zip(meters, ticks, strict=True))


def _tick(meter: Meter, amount: int, *, came: int, at: datetime, by: Person, note: str, **more: object) -> Tick:
    return Tick(
        meter=meter,
        amount=amount,
        came=came,
        value=meter.value,
        at=at,
        recorded_at=clock.now(),
        by=by,
        note=note[:300],
        **more,
    )


def _with(note: str, remark: str) -> str:
    return f"{note}; {remark}"[:300] if note else remark


def _count_for_duties(meters: Collection[Meter], came: Mapping[int, int], at: datetime) -> None:
    """Work out anew the duties that reach their amount by this, or fall back below it.

    A duty counts by its meter's total, so nothing is written for the others, save where this came about before the duty
    was last done, and so is not for it to count.
    """
    held = {meter.pk: meter for meter in meters}
    concerned = Duty.objects.filter(meter__in=list(held), is_active=True, begun_at__isnull=False)
    turned: list[int] = []
    for pk, meter_id, start, amount, reached, own, begun, last in concerned.values_list(
        "pk", "meter_id", "counted_from", "meter_amount", "reached_at", "resets_own_meter", "begun_at", "last_entry__at"
    ):
        assert meter_id is not None
        assert begun is not None
        meter, step = held[meter_id], came[meter_id]
        if not own and step and at <= max(begun, last or begun):
            start += step
            Duty.objects.filter(pk=pk).update(counted_from=start)
        counted = meter.value if own else meter.total - start
        if (amount is not None and counted >= amount) != (reached is not None):
            turned.append(pk)
    for duty in Duty.objects.filter(pk__in=turned).select_related("meter", "last_entry") if turned else ():
        duty.reached_at = at if duty.reached_at is None else None
        standing.keep(duty)


# Following ------------------------------------------------------------------------------------------------------------


def begin_to_follow(*, key: str, name: str, follows: str) -> None:
    """Let there be a meter of days of that key, which goes by `follows`; nothing happens if there is one."""
    Meter.objects.get_or_create(key=key, defaults={"name": name, "unit": MeterUnit.DAY, "follows": follows})


def follow(*, key: str, since: datetime | None) -> None:
    """Let a meter of days count from `since`, when what it follows began; None where there is none of it.

    Duties that fall by it are worked out anew. Nothing happens in a room without that meter.
    """
    held = Meter.objects.select_for_update().filter(key=key).exclude(follows="").first()
    if held is None or held.runs_since == since:
        return
    Meter.objects.filter(pk=held.pk).update(runs_since=since)
    held.runs_since = since
    duties = Duty.objects.filter(meter=held, is_active=True, begun_at__isnull=False)
    for duty in duties.select_related("last_entry").select_for_update(of=("self",)):
        duty.meter = held
        standing.count_again(duty)
        standing.keep(duty)


# Resets ---------------------------------------------------------------------------------------------------------------


def reset(*, meter: Meter, at: datetime, by: Person, note: str = "") -> Tick:
    """Do away with what the meter counted up to `at`: the trap emptied, the line cleaned.

    Refuses a moment before the last reset. What came about after `at` is counted again, step by step: it is still
    there. Duties that fall by this meter and reset it count from there too. Returns the tick of the reset.
    """
    held = Meter.objects.select_for_update().get(pk=meter.pk)
    if not held.reset_word:
        raise Refused(
            f"This meter goes by {held.follows}: nothing else brings it to zero."
            if held.follows
            else "This meter runs on: nothing brings it to zero. Duties count by it from when each was last done."
        )
    if held.reset_at is not None and at < held.reset_at:
        raise Refused("There is a later reset already. Give a time after it.", field="at")
    later = Tick.objects.filter(meter=held, at__gt=at).exclude(came=0).order_by("at", "id")
    again = list(later.values_list("came", "at"))
    gone, held.value = held.value, 0
    done = _tick(held, -gone, came=0, at=at, by=by, note=note, is_reset=True)
    done.save(force_insert=True)
    since = []
    for came, moment in again:
        step = max(came, -held.value)
        held.value += step
        since.append(_tick(held, step, came=0, at=moment, by=by, note="counted after the reset"))
    Tick.objects.bulk_create(since)
    _stand(held, at)
    return done


def undo_reset(*, tick: Tick, by: Person, note: str = "") -> Tick | None:
    """Count again what a reset did away with, for it was entered by mistake. None where a later reset stands."""
    held = Meter.objects.select_for_update().get(pk=tick.meter_id)
    if held.reset_at != tick.at or Tick.objects.filter(undoes=tick).exists():
        return None
    resets = Tick.objects.filter(meter=held, is_reset=True, undone_by=None, at__lte=tick.at)
    before = resets.exclude(pk=tick.pk).order_by("-at", "-id").first()
    since = before.at if before else None
    there, held.value = held.value, came_since(held, since)
    done = _tick(held, held.value - there, came=0, at=clock.now(), by=by, note=note, undoes=tick)
    done.save(force_insert=True)
    _stand(held, since)
    return done


def came_since(meter: Meter, moment: datetime | None) -> int:
    """What came about after a moment, or ever; never below zero."""
    ticks = Tick.objects.filter(meter=meter)
    if moment is not None:
        ticks = ticks.filter(at__gt=moment)
    return max(0, ticks.aggregate(sum=Sum("came"))["sum"] or 0)


def _stand(meter: Meter, reset_at: datetime | None) -> None:
    """Keep what the meter stands at after a reset or its undoing, with the duties that count as it does."""
    meter.reset_at = reset_at
    Meter.objects.filter(pk=meter.pk).update(value=meter.value, reset_at=reset_at)
    for duty in Duty.objects.filter(meter=meter, resets_own_meter=True, is_active=True).select_related("last_entry"):
        duty.meter = meter
        standing.count_again(duty)
        standing.keep(duty)
