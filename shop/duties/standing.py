"""Where each duty stands: the columns of Duty that are kept, from its entries, its meter and its calendar.

Kept in the transaction that changes what they rest on, so that a page or a sweep over thousands of duties only reads
them. The recurring job (`refresh`) sees to what changes by itself: forecasts, a room whose zone was changed, starter
duties that have not begun.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import OuterRef, Subquery

from shop import clock
from shop.calc import due as calc
from shop.duties.models import SETTLES, Duty, Entry, EntryKind, EntryStep, Meter, Tick
from shop.duties.wording import amiss_words

#: Use of so many days is what a forecast rests on.
USE_DAYS = 56
#: The columns kept here.
KEPT = [
    "begun_at",
    "last_entry",
    "put_offs",
    "put_off_until",
    "resets_own_meter",
    "counted_from",
    "reached_at",
    "zone",
    "due_on",
    "due_at",
    "late_at",
    "amiss",
    "amiss_quantities",
    "expected_on",
    "expected_low_on",
    "expected_high_on",
    "expected_from_days",
]


def keep(duty: Duty) -> None:
    """Work out when it is due and expected, from its other columns as they are, and save what is kept."""
    work_out(duty)
    expect([duty])
    duty.save(update_fields=KEPT)


def settle(duty: Duty, entry: Entry, lines: Sequence[EntryStep] = ()) -> None:
    """Let a fresh entry with these steps settle it, of which none is later. Saves nothing yet."""
    duty.last_entry, duty.put_offs, duty.put_off_until = entry, 0, None
    duty.amiss, duty.amiss_quantities = amiss_words(lines)
    count_again(duty)


def look_again(duty: Duty) -> None:
    """Read from its entries what stands, corrected ones left out, for one that was not simply added last."""
    standing = Entry.objects.filter(duty=duty, corrected_by=None)
    duty.last_entry = standing.filter(kind__in=SETTLES).order_by("-at", "-id").first()
    put_off = standing.filter(kind=EntryKind.PUT_OFF).order_by("-at", "-id")
    if duty.last_entry is not None:
        put_off = put_off.filter(at__gte=duty.last_entry.at)
    days = [day for day in put_off.values_list("until", flat=True) if day is not None]
    duty.put_offs, duty.put_off_until = len(days), max(days, default=None)
    duty.amiss, duty.amiss_quantities = amiss_words(duty.last_entry.steps.all() if duty.last_entry else ())
    count_again(duty)


# Its meter ------------------------------------------------------------------------------------------------------------


def count_again(duty: Duty) -> None:
    """Count anew, from the meter's own steps, what it counted since the duty was last done, and when it was enough."""
    duty.counted_from, duty.reached_at = 0, None
    if duty.meter_id is None or duty.meter_amount is None or (since := _since(duty)) is None:
        return
    meter = duty.meter = Meter.objects.get(pk=duty.meter_id)  # as it stands now
    if meter.follows:
        duty.reached_at = _followed_until(duty, duty.meter_amount)
        return
    ticks = Tick.objects.filter(meter=meter).exclude(came=0)
    if duty.resets_own_meter:
        if meter.value < duty.meter_amount:
            return
        ticks = ticks.filter(at__gt=meter.reset_at) if meter.reset_at else ticks
    elif since >= clock.now():
        duty.counted_from = meter.total
        return
    else:
        ticks = ticks.filter(at__gt=since)
    counted = 0
    for at, came in ticks.order_by("at", "id").values_list("at", "came"):
        counted = max(0, counted + came)
        if counted < duty.meter_amount:
            duty.reached_at = None
        elif duty.reached_at is None:
            duty.reached_at = at
    if duty.resets_own_meter:
        duty.reached_at = duty.reached_at or clock.now()
    else:
        duty.counted_from = meter.total - counted


def _followed_until(duty: Duty, amount: int) -> datetime | None:
    """The midnight on which the days of what its meter follows come to the amount; None while there is nothing."""
    since = duty.follows_since
    if since is None:
        return None
    try:
        return clock.day_bounds(calc.day_open_for(clock.day_of(since), amount))[0]
    except (ValueError, OverflowError):  # after the calendar's end
        return None


def _since(duty: Duty) -> datetime | None:
    """From when on its meter counts for it: its last entry, or when it began; None before that."""
    if duty.begun_at is None or duty.last_entry is None:
        return duty.begun_at
    return max(duty.begun_at, duty.last_entry.at)


# When it is due -------------------------------------------------------------------------------------------------------


def work_out(duty: Duty) -> None:
    """When it is due next, by the zone now active: by rule, by meter, whichever first, put off or not."""
    zone = clock.zone_name()
    duty.zone, duty.due_on, duty.due_at, duty.late_at = zone, None, None, None
    if not duty.is_active or duty.begun_at is None:
        return
    settled = calc.day_in(duty.last_entry.at, zone) if duty.last_entry else None
    calendar = duty.calendar(zone)
    rule = calc.by_rule(calendar, settled, late_days=duty.late_days) if calendar else None
    meter = calc.by_meter(duty.reached_at, zone, late_days=duty.late_days) if duty.reached_at else None
    due = calc.soonest(rule, meter)
    if duty.put_off_until is not None:
        due = calc.put_off(due, duty.put_off_until, duty.at, zone, late_days=duty.late_days)
    if due is not None:
        duty.due_on, duty.due_at, duty.late_at = due.day, due.at, due.late_at


def expect(duties: Iterable[Duty]) -> None:
    """The days on which their meters are expected to reach their amounts; none for those that have. Two queries."""
    today = clock.today()
    waiting = []
    for duty in duties:
        duty.expected_on = duty.expected_low_on = duty.expected_high_on = duty.expected_from_days = None
        counts = duty.meter is not None and not duty.meter.follows  # what is followed is known to the day
        if duty.is_active and duty.begun_at and counts and duty.reached_at is None:
            waiting.append(duty)
    if not waiting:
        return
    daily = daily_use({duty.meter_id for duty in waiting if duty.meter_id}, today)
    for duty in waiting:
        assert duty.meter_id is not None
        assert duty.meter_amount is not None
        found = calc.reach(daily.get(duty.meter_id, []), max(0, duty.meter_amount - duty.counted))
        if found is None:
            continue
        duty.expected_on = today + timedelta(days=round(found.middle))
        duty.expected_low_on = today + timedelta(days=int(found.low))
        duty.expected_high_on = today + timedelta(days=-int(-found.high // 1)) if found.high is not None else None
        duty.expected_from_days = found.days_counted


def daily_use(meters: Iterable[int], today: date) -> dict[int, list[float]]:
    """What came about on each of the last USE_DAYS whole days, oldest first, by meter; from its first day on."""
    start = clock.day_bounds(today - timedelta(days=USE_DAYS))[0]
    first = Tick.objects.filter(meter=OuterRef("pk")).order_by("id").values("at")[:1]
    begun = dict(Meter.objects.filter(pk__in=list(meters)).annotate(first=Subquery(first)).values_list("pk", "first"))
    found: dict[int, list[float]] = {}
    for pk, at in begun.items():
        days = min(USE_DAYS, (today - clock.day_of(at)).days) if at else 0
        found[pk] = [0.0] * max(0, days)
    ticks = Tick.objects.filter(meter__in=list(begun), at__gte=start).exclude(came=0)
    for pk, at, came in ticks.values_list("meter_id", "at", "came"):
        back = (today - clock.day_of(at)).days
        if 1 <= back <= len(found[pk]):
            found[pk][-back] += came
    return {pk: [max(0.0, day) for day in days] for pk, days in found.items()}


# By itself ------------------------------------------------------------------------------------------------------------


def refresh() -> str:
    """Begin what has not begun, work out anew what another zone had, and make the forecasts. Safe to run twice.

    Writes only what changed, so that it may run often. Days are those of the zone now active.
    """
    with transaction.atomic():
        return _refresh(clock.zone_name())


def _refresh(zone: str) -> str:
    active = Duty.objects.filter(is_active=True).select_related("meter", "last_entry")
    duties: Sequence[Duty] = list(active.select_for_update(of=("self",)))  # nobody settles one meanwhile
    before = {duty.pk: _kept(duty) for duty in duties}
    for duty in duties:
        if duty.begun_at is None:
            begin(duty)
        elif duty.zone != zone:
            if duty.meter is not None and duty.meter.follows:  # its midnights are those of the room
                count_again(duty)
            work_out(duty)
    expect(duties)
    changed = [duty for duty in duties if _kept(duty) != before[duty.pk]]
    Duty.objects.bulk_update(changed, ["starts_on", *KEPT], batch_size=200)
    return f"{len(changed)} of {len(duties)} changed"


def begin(duty: Duty) -> None:
    """Let a duty of the starter content count from now on. Nothing of it is due on the first day: what follows its plan
    is due on the plan's next day, what is counted from the last entry one interval from today."""
    duty.begun_at = clock.now()
    duty.starts_on = duty.starts_on or clock.today() + timedelta(days=1)
    calendar = duty.calendar(clock.zone_name())
    if calendar is not None and duty.counts_from_entry:
        duty.starts_on = calc.next_day(calendar, clock.today()) or duty.starts_on
    count_again(duty)
    work_out(duty)


def _kept(duty: Duty) -> list[object]:
    return [duty.starts_on, *(getattr(duty, f"{name}_id" if name == "last_entry" else name) for name in KEPT)]
