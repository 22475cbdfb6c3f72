"""What the actions of duties check before they write. Each gives back the value to use, or raises Refused."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, time

from shop import clock
from shop.calc import due as calc
from shop.calc import units
from shop.duties import effects
from shop.duties.models import CountsFrom, Duty, LateGrade, Meter, StepQuantity
from shop.people.models import Person, Role
from shop.press.rules import not_taken, words
from shop.refusal import Refused

#: The most steps and touches a duty may have; the longest grace, in days.
MOST_STEPS, MOST_TOUCHES, MOST_GRACE = 20, 6, 366
_SLUG = re.compile(r"[a-z0-9]+(?:[-_][a-z0-9]+)*")
TWICE = "There is a duty of that name already. Open it, or give this one another name."


@dataclass(frozen=True)
class WantedStep:
    """A step as it is wanted; the fields are those of DutyStep."""

    text: str
    reads: str = ""
    quantity: str = StepQuantity.PLAIN
    unit: str = ""
    low: float | None = None
    high: float | None = None
    wants_photo: bool = False


@dataclass(frozen=True)
class WantedTouch:
    """What doing it is to do: an effect's kind, its target, and how much where that is measured."""

    kind: str
    target: int
    amount: int | None = None


@dataclass(frozen=True)
class Facts:
    """All that a duty is told to be; the fields are those of Duty, and its steps and touches."""

    name: str
    place: str = ""
    why: str = ""
    rule: str = ""
    starts_on: date | None = None
    at: time = time(8)
    counts_from: str = CountsFrom.PLAN
    meter: Meter | None = None
    meter_amount: int | None = None
    early_days: int = 0
    late_days: int = 0
    for_role: str = ""
    for_person: Person | None = None
    authority: str = ""
    sheet: str = ""
    is_critical: bool = False
    late_grade: int = LateGrade.CARE
    put_off_limit: int = 2
    source: str = ""
    steps: tuple[WantedStep, ...] = ()
    touches: tuple[WantedTouch, ...] = ()


def checked(facts: Facts, duty: Duty | None = None) -> Facts:
    """The facts of a new duty, or of one that is changed, as they are kept."""
    name = not_taken(Duty, words(facts.name, field="name", longest=80, needed=True), sentence=TWICE, but=duty)
    starts_on = facts.starts_on or clock.today()
    if not facts.rule and facts.meter is None:
        raise Refused("Say when it falls due: by the calendar, by a meter, or by whichever comes first.", field="often")
    critical = facts.is_critical
    if facts.late_grade == LateGrade.HOLD and not critical:
        raise Refused("Only what is safety-critical holds the cutting when it is late.", field="late_grade")
    if facts.for_role and facts.for_person is not None:
        raise Refused("Give a person or a role, not both.", field="for_person")
    if facts.for_role and facts.for_role not in (Role.OWNER, Role.ENGINEER, Role.ASSISTANT):
        raise Refused("A visitor does no care. Choose another role.", field="for_role")
    return replace(
        facts,
        name=name,
        place=words(facts.place, field="place", longest=60),
        why=words(facts.why, field="why", longest=500),
        source=words(facts.source, field="source", longest=200),
        rule=_rule(facts, starts_on),
        starts_on=starts_on,
        meter_amount=_meter_amount(facts),
        early_days=_within(facts.early_days, 0, MOST_GRACE, field="early_days"),
        late_days=_within(facts.late_days, 0, MOST_GRACE, field="late_days"),
        put_off_limit=_within(facts.put_off_limit, 0, 50, field="put_off_limit"),
        for_person=_worker(facts.for_person),
        authority=_slug(facts.authority, field="authority"),
        sheet=_slug(facts.sheet, field="sheet"),
        steps=_steps(facts.steps),
        touches=_touches(facts.touches),
    )


def _rule(facts: Facts, starts_on: date) -> str:
    calendar = calc.Calendar(
        rule=facts.rule,
        start=starts_on,
        at=facts.at,
        zone=clock.zone_name(),
        from_entry=facts.counts_from == CountsFrom.ENTRY,
    )
    try:
        if facts.rule.strip():
            return calc.check(calendar).text
        calc.check(replace(calendar, rule="FREQ=DAILY"))  # its first day, which a meter is counted from, must do too
    except calc.BadRule as wrong:
        raise Refused(str(wrong), field="starts_on" if wrong.part == "start" else "rule") from wrong
    return ""


def _meter_amount(facts: Facts) -> int | None:
    if facts.meter is None:
        if facts.meter_amount is not None:
            raise Refused("Choose the meter that this is counted on.", field="meter")
        return None
    if facts.meter_amount is None or facts.meter_amount <= 0:
        raise Refused("Say at how much, above zero.", field="meter_amount")
    return facts.meter_amount


def _within(value: int, low: int, high: int, *, field: str) -> int:
    if not low <= value <= high:
        raise Refused(f"Give a whole number from {low} to {high}.", field=field)
    return value


def _worker(person: Person | None) -> Person | None:
    if person is not None and not (person.is_active and person.is_hand):
        raise Refused(f"{person.name} does no care here. Choose somebody who works in the room.", field="for_person")
    return person


def _slug(text: str, *, field: str) -> str:
    slug = re.sub(r"\s+", "-", text.strip().lower())
    if slug and (not _SLUG.fullmatch(slug) or len(slug) > 40):
        raise Refused("Use letters, digits and hyphens, at most 40, such as change-cylinder.", field=field)
    return slug


def _steps(steps: Sequence[WantedStep]) -> tuple[WantedStep, ...]:
    if len(steps) > MOST_STEPS:
        raise Refused(f"A duty has at most {MOST_STEPS} steps. Make two of it.", field="steps")
    return tuple(_step(step) for step in steps)


def _step(step: WantedStep) -> WantedStep:
    plain = step.quantity == StepQuantity.PLAIN
    if not plain and step.quantity not in units.UNITS:
        raise Refused("Choose what is measured.", field="steps")
    if step.low is not None and step.high is not None and step.low > step.high:
        raise Refused("The lowest that is right lies above the highest.", field="steps")
    reads = words(step.reads, field="steps", longest=60)
    return replace(
        step,
        text=words(step.text, field="steps", longest=200, needed=True),
        reads=reads,
        unit=words(step.unit, field="steps", longest=12) if plain and reads else "",
        low=step.low if reads else None,
        high=step.high if reads else None,
    )


def _touches(touches: Sequence[WantedTouch]) -> tuple[WantedTouch, ...]:
    if len(touches) > MOST_TOUCHES:
        raise Refused(f"A duty touches at most {MOST_TOUCHES} things. Make two of it.", field="touches")
    if len({(touch.kind, touch.target) for touch in touches}) < len(touches):
        raise Refused("One thing is touched twice. Say it once.", field="touches")
    for touch in touches:
        effect = effects.of_kind(touch.kind)
        if effect is None or touch.target not in {target.id for target in effect.targets()}:
            raise Refused("What it touches is no longer there. Choose again.", field="touches")
        if effect.measured and not touch.amount:
            raise Refused("Say how much it takes, above zero.", field="touches")
    return tuple(replace(touch, amount=touch.amount if _measured(touch) else None) for touch in touches)


def _measured(touch: WantedTouch) -> bool:
    effect = effects.of_kind(touch.kind)
    return effect is not None and effect.measured
