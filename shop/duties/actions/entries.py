"""What is recorded about a duty: done, put off, not needed."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import IntegerField, QuerySet
from django.utils import timezone

from shop import clock
from shop.calc import due as calc
from shop.duties import effects, standing
from shop.duties.models import Duty, DutyStep, Entry, EntryKind, EntryStep, Meter, Photo, Touch, Touched
from shop.duties.photos import KeptPhoto
from shop.duties.wording import outside_words
from shop.people import authority
from shop.people.models import HANDS, Person
from shop.prepared import Given, prepared
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Changed, Doubt, NotAllowed, Refused, ask_unless_sure
from shop.wording import weekday_in_full

#: The furthest a duty may be put off, in days: a season.
FURTHEST = 92

#: Of what is safety-critical, no step of which was done.
NOTHING_DONE = "Every step was left out, and it is safety-critical: that is not recorded as done."


@dataclass(frozen=True)
class StepDone:
    """What was done of one step. reading: in the stored unit of its quantity."""

    step: DutyStep
    done: bool
    reading: float | None = None
    photo: KeptPhoto | None = None

    @property
    def field(self) -> str:
        return step_field(self.step)


def step_field(step: DutyStep) -> str:
    """The form field that a step's refusals belong to; its reading's and photograph's begin with it."""
    return f"step{step.pk}"


def touch_field(touch: Touch) -> str:
    return f"touch{touch.pk}"


@action(roles=HANDS)
def do_duty(
    *,
    by: Person,
    duty: Duty,
    steps: Sequence[StepDone] = (),
    amounts: Mapping[int, int] | None = None,
    at: datetime | None = None,
    under: Person | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Entry:
    """Record that a duty was done, with all that it moves.

    1. refuses a time to come, a duty that is stopped, steps that are no longer its steps, somebody without the
    authority it needs, unless it was done under the eye of one who has it, and a safety-critical one of which no step
    was done; 2. asks about what looks wrong: dated before the last entry, too early for its plan, done already, a step
    left out (which needs a remark that says why), a reading outside the shop's limits; 3. keeps the entry, its steps,
    readings and photographs; 4. does what it touches; 5. works out when it is due next.

    amounts: how much was really taken, by touch, where it was not the usual; 0 for none. under: whose eye it was under.
    """
    moment = happened_at(at)
    held, touches = hold(duty)
    authority.check(held.authority, by=by, under=under, day=clock.day_of(moment))
    lines = lines_of(held, steps)
    if held.is_critical and is_bare(steps):
        who = "Put it off" if by.is_engineer else "An engineer or the owner puts it off"
        say = "say" if by.is_engineer else "says"
        raise Refused(f"{NOTHING_DONE} {who}, or {say} that it is not needed, and why.")
    is_last = held.last_entry is None or moment >= held.last_entry.at
    ask_unless_sure([*_doubts_of_time(held, moment, is_last=is_last), *doubts_of(steps, by)], sure)
    if not note.strip() and not all(one.done for one in steps):
        raise Refused("Say why it was left out; it is kept with your name.", field="note")
    first = _first_that_counts(held)
    counts = is_last and (first is None or clock.day_of(moment) >= first)
    due_on = held.due_on if counts else None
    entry = record(held, EntryKind.DONE, at=moment, by=by, under=under, note=note, due_on=due_on)
    keep_lines(entry, lines, steps)
    for touch in touches:
        touch_it(entry, touch, (amounts or {}).get(touch.pk, touch.amount))
    if is_last:
        standing.settle(held, entry, lines)
    standing.keep(held)
    return entry


@action(roles=HANDS)
def put_off_duty(*, by: Person, duty: Duty, until: date, reason: str) -> Entry:
    """Put it off to a day, with the reason. Only so often in a row as the duty allows, and no further than a season.

    What is safety-critical only an engineer puts off. Refused for a duty that is not due before that day anyway.
    """
    reason = words(reason, field="reason", longest=500, needed=True)
    held, _ = hold(duty, with_meters=False)
    _only_engineers_if_critical(held, by, "put off")
    today = clock.today()
    if until <= today:
        raise Refused("Give a day to come.", field="until")
    if (until - today).days > FURTHEST:
        raise Refused(
            f"That is more than {FURTHEST} days away. Put it off for less, or change how often it falls due.",
            field="until",
        )
    if held.due_on is None or held.due_on >= until:
        when = f"before {weekday_in_full(held.due_on)}" if held.due_on else "by its calendar or its meter yet"
        raise Refused(f"It is not due {when}, so there is nothing to put off.", field="until")
    if held.put_offs >= held.put_off_limit:
        often = "It may not be put off" if not held.put_off_limit else _so_often(held.put_offs)
        raise Refused(f"{often}. Do it, or record that it is not needed, and why.")
    entry = record(held, EntryKind.PUT_OFF, at=clock.now(), by=by, note=reason, until=until, due_on=held.due_on)
    held.put_offs, held.put_off_until = held.put_offs + 1, until
    standing.keep(held)
    return entry


def _so_often(times: int) -> str:
    said = {1: "once", 2: "twice"}.get(times, f"{times} times in a row")
    return f"It was put off {said} already, which is all that this shop allows"


@action(roles=HANDS)
def not_needed(*, by: Person, duty: Duty, reason: str) -> Entry:
    """Record that this time it is not needed, and why: it is next due as if it had been done, and nothing is touched.

    Of what is safety-critical only an engineer says so. Refused for a duty that is not due and has no day to come.
    """
    reason = words(reason, field="reason", longest=500, needed=True)
    held, _ = hold(duty)
    _only_engineers_if_critical(held, by, "left undone")
    if held.last_entry is not None and held.last_entry.at > clock.now():
        raise Changed("A later entry is there already. Look at it first.")
    entry = record(held, EntryKind.NOT_NEEDED, at=clock.now(), by=by, note=reason, due_on=held.due_on)
    standing.settle(held, entry)
    standing.keep(held)
    return entry


def _only_engineers_if_critical(duty: Duty, by: Person, what: str) -> None:
    if duty.is_critical and not by.is_engineer:
        raise NotAllowed(f"This is safety-critical: only an engineer or the owner says that it is {what}.")


# What they are made of, for corrections too ---------------------------------------------------------------------------


def hold(duty: Duty, *, with_meters: bool = True) -> tuple[Duty, list[Touch]]:
    """The duty as it now stands, its row ours until the transaction ends, and what it touches.

    The meters it counts by or steps are held before it, in the order of their keys, as everyone does who steps them.
    with_meters: whether its meters are going to be stepped or read. Refused if it is stopped.
    """
    touches = [touch for touch in Touch.objects.filter(duty=duty.pk) if touch.target is not None]
    if with_meters:
        ids = {pk for touch in touches for pk in _meters_of(touch)}
        if duty.meter_id is not None:
            ids.add(duty.meter_id)
        if ids:
            list(Meter.objects.select_for_update().filter(pk__in=ids).order_by("key"))
    held = _held.get(duty=duty.pk)
    if not held.is_active:
        raise Changed("This duty is stopped. An engineer takes it up again before it can be recorded.")
    return held, touches


@prepared
def _held() -> QuerySet[Duty]:
    rows = Duty.objects.select_for_update(of=("self",)).select_related("meter", "last_entry__by")
    return rows.filter(pk=Given("duty", IntegerField()))


def _meters_of(touch: Touch) -> list[int]:
    effect = effects.of_kind(touch.kind)
    return effect.meters(touch.target) if effect is not None and touch.target is not None else []


def lines_of(duty: Duty, steps: Sequence[StepDone]) -> list[EntryStep]:
    """Its steps with what was done of each, unsaved. Changed if they are not its steps any more."""
    asked = list(DutyStep.objects.filter(duty=duty, is_active=True))
    given = {one.step.pk: one for one in steps}
    if set(given) != {step.pk for step in asked}:
        raise Changed("Its steps were changed while your form was open. Open it again: what you typed is in the form.")
    found = []
    for step in asked:
        one = given[step.pk]
        if one.done and step.reads and one.reading is None:
            raise Refused("Give the reading, or leave the step unticked.", field=f"{one.field}_reading")
        found.append(
            EntryStep(
                step=step,
                text=step.text,
                is_done=one.done,
                reads=step.reads,
                quantity=step.quantity,
                unit=step.unit,
                reading=one.reading if step.reads else None,
                low=step.low,
                high=step.high,
            )
        )
    return found


def is_bare(steps: Sequence[StepDone]) -> bool:
    """Whether it has steps and none of them was done."""
    return bool(steps) and not any(one.done for one in steps)


def doubts_of(steps: Sequence[StepDone], by: Person) -> list[Doubt]:
    """What looks wrong about what was done of the steps."""
    found = []
    for one in steps:
        if not one.done:
            asked = "This step is not ticked. Was it left out?"
            left_out = f"Left out: {one.step.text}"
            found.append(Doubt(f"left-out:{one.step.pk}", one.field, asked, confirm=left_out))
        if one.reading is not None and (trouble := outside_words(one.reading, one.step, by)):
            key = f"amiss:{one.step.pk}:{one.reading:g}"
            found.append(Doubt(key, f"{one.field}_reading", f"{trouble}. Read it again; if it stays, see to it."))
    return found


def _doubts_of_time(duty: Duty, moment: datetime, *, is_last: bool) -> list[Doubt]:
    last, day = duty.last_entry, clock.day_of(moment)
    if last is not None and not is_last:
        said = f"Its last entry is of {_when(last.at)}, later than that. Was it done before that, as typed?"
        return [Doubt(f"before:{last.pk}:{moment.isoformat()}", "at", said)]
    if last is not None and last.kind == EntryKind.DONE and clock.day_of(last.at) == day and not _is_due(duty, moment):
        said = f"{last.signed_as} did it already, at {timezone.localtime(last.at):%H:%M}. Was it done once more?"
        return [Doubt(f"again:{last.pk}", "at", said)]
    first = _first_that_counts(duty)
    if first is not None and day < first:
        assert duty.due_on is not None
        said = (
            f"Its plan has it due on {weekday_in_full(duty.due_on)}, and an entry counts for that from "
            f"{weekday_in_full(first)} on. Recorded for an earlier day it is kept, but stays due."
        )
        return [Doubt(f"early:{duty.due_on}:{day}", "at", said)]
    return []


def _is_due(duty: Duty, moment: datetime) -> bool:
    return duty.due_at is not None and duty.due_at <= moment


def _first_that_counts(duty: Duty) -> date | None:
    """The first day on which an entry settles the day of the plan that comes next; None where any day does."""
    if not duty.rule or duty.counts_from_entry or duty.due_on is None or duty.is_reached_now:
        return None
    calendar = duty.calendar(duty.zone)
    settled = clock.day_of(duty.last_entry.at) if duty.last_entry else None
    planned = calc.next_day(calendar, settled) if calendar else None
    return planned - timedelta(days=duty.early_days) if planned else None


def _when(moment: datetime) -> str:
    local = timezone.localtime(moment)
    return f"{local.day} {local:%B %Y, %H:%M}"


def record(
    duty: Duty,
    kind: EntryKind,
    *,
    at: datetime,
    by: Person,
    under: Person | None = None,
    note: str = "",
    due_on: date | None = None,
    until: date | None = None,
    corrects: Entry | None = None,
) -> Entry:
    """Write one entry, signed with the names people have now. due_on: the day it was due that it settles."""
    return Entry.objects.create(
        duty=duty,
        kind=kind,
        at=at,
        recorded_at=clock.now(),
        by=by,
        signed_as=by.name,
        under=under,
        under_as=under.name if under else "",
        due_on=due_on,
        until=until,
        note=words(note, field="note", longest=500),
        corrects=corrects,
    )


def keep_lines(entry: Entry, lines: Sequence[EntryStep], steps: Sequence[StepDone]) -> None:
    """Write its steps, and the photographs that came with them."""
    for line in lines:
        line.entry = entry
    EntryStep.objects.bulk_create(lines)
    Photo.objects.bulk_create(
        Photo(entry=entry, step=one.step, name=one.photo.name, width=one.photo.width, height=one.photo.height)
        for one in steps
        if one.photo is not None
    )


def touch_it(entry: Entry, touch: Touch, amount: int | None) -> None:
    """Do what the touch says, and keep what it made. An amount of 0 does nothing."""
    effect = effects.of_kind(touch.kind)
    if effect is None or touch.target is None or (effect.measured and not amount):
        return
    try:
        made = effect.apply(touch.target, amount, at=entry.at, by=entry.by, note=entry.duty.name)
    except Refused as no:
        raise type(no)(no.sentence, field=touch_field(touch) if no.field == "amount" else no.field) from no
    Touched.objects.bulk_create(
        Touched(
            entry=entry,
            kind=touch.kind,
            target=touch.target,
            target_name=touch.target_name,
            amount=one.amount,
            ref=one.ref,
        )
        for one in made
    )
