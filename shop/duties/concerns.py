"""What care worries about: duties that are due or late, readings amiss, and meters past the shop's own limits."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade, kept_quantities
from shop.duties import queries
from shop.duties.models import Duty, EntryKind, Meter
from shop.duties.queries import MeterState
from shop.wording import in_full, weekday_in_full


def concerns(now: datetime) -> list[Concern]:
    """One concern for each duty that is due (a note) or past its grace (care, or what a safety-critical one weighs),
    each whose last entry read something amiss, and each meter at or past a limit. Two queries.

    A duty that is due by the very meter it resets, and a worry about that meter, are one matter: the meter speaks, as
    gravely as either, and leads to the duty.
    """
    due = queries.due_now(now)
    by_meter = {
        duty.meter_id: duty
        for duty in due
        if duty.resets_own_meter and duty.reached_at is not None and queries.is_due(duty, now)
    }
    found, spoken = [], set()
    for state in queries.states():
        if state.grade is None:
            continue
        one = _of_meter(state, state.grade)
        if (duty := by_meter.get(state.meter.pk)) is not None:
            own = _of_duty(duty, now)
            one = replace(one, grade=max(one.grade, own.grade), link=own.link)
            spoken.add(duty.pk)
        found.append(one)
    found += [_of_duty(duty, now) for duty in due if duty.pk not in spoken and queries.is_due(duty, now)]
    found += [_amiss(duty) for duty in due if duty.amiss]
    return found


# Duties ---------------------------------------------------------------------------------------------------------------


def _of_duty(duty: Duty, now: datetime) -> Concern:
    assert duty.due_on is not None
    assert duty.late_at is not None
    late = queries.is_late(duty, now)
    last_day = clock.day_of(duty.late_at) - timedelta(days=1)
    return Concern(
        key=f"duties:due:{duty.pk}",
        grade=Grade(duty.late_grade) if late else Grade.NOTE,
        subject=duty.place or "Care",
        headline=f"{duty.name}: {'late' if late else 'due'}",
        reason=" ".join(_why(duty, late)),
        what_to_do="Do it, and record it here. If it can't be done, put it off with the reason.",
        link=reverse("duties:do-duty", args=[duty.pk]),
        by=None if late else clock.day_bounds(last_day)[0],
    )


def _why(duty: Duty, late: bool) -> Iterator[str]:
    assert duty.due_on is not None
    assert duty.late_at is not None
    by_meter = duty.is_reached_now
    how, words = (" by its meter", duty.counted_words) if by_meter else ("", duty.rule_words)
    yield f"Due since {weekday_in_full(duty.due_on)}{how}: {words}."
    if duty.put_offs:
        yield f"Put off {'once' if duty.put_offs == 1 else f'{duty.put_offs} times'}."
    if late and duty.late_days:
        yield f"Its grace ended on {weekday_in_full(clock.day_of(duty.late_at) - timedelta(days=1))}."
    if duty.last_entry is not None:
        what = "done" if duty.last_entry.kind == EntryKind.DONE else "seen to"
        yield f"Last {what} on {_day(duty.last_entry.at)} by {duty.last_entry.signed_as}."
    else:
        yield "It was never recorded yet."
    if duty.for_person is not None or duty.for_role:
        yield f"For {duty.whose}."


def _day(moment: datetime) -> str:
    return in_full(clock.day_of(moment))


def _amiss(duty: Duty) -> Concern:
    assert duty.last_entry is not None
    return Concern(
        key=f"duties:amiss:{duty.pk}",
        grade=Grade(duty.late_grade),
        subject=duty.place or "Care",
        headline=f"{duty.name}: a reading outside the shop's limits",
        reason=f"Read on {_day(duty.last_entry.at)} by {duty.last_entry.signed_as}. {duty.amiss}.",
        what_to_do="See to it, then do it again and record what is read now.",
        link=duty.get_absolute_url(),
        quantities=kept_quantities(duty.amiss_quantities),
    )


# Meters ---------------------------------------------------------------------------------------------------------------


def _of_meter(state: MeterState, grade: Grade) -> Concern:
    meter = state.meter
    limit = meter.hold_at if grade is Grade.HOLD else meter.care_at
    assert limit is not None
    return Concern(
        key=f"duties:meter:{meter.key}",
        grade=grade,
        subject=meter.name,
        headline=f"{meter.name}: {meter.shown(meter.stands_at)}, past the limit for {grade.word}",
        reason=f"{_since(meter)} The shop's own limit for {grade.word} is {meter.shown(limit)}.",
        what_to_do=" ".join(part for part in (meter.what_to_do, meter.caution) if part),
        link=meter.get_absolute_url() if meter.follows else reverse("duties:reset-meter", args=[meter.pk]),
    )


def _since(meter: Meter) -> str:
    if meter.runs_since is not None:
        return f"Open since {in_full(clock.day_of(meter.runs_since))}, the oldest of what it counts."
    if meter.reset_at is None:
        return "Counted since the room began counting."
    day = clock.day_of(meter.reset_at)
    return f"Counted since {in_full(day)} ({meter.reset_word})."
