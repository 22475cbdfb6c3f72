"""The vacuum line as it stands: each point against its clean baseline, what that speaks for, each part's state."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max, QuerySet, Sum

from shop.calc import vacuum
from shop.calc.vacuum import Drifted, Fault, Point, Suspect
from shop.concern import Grade
from shop.duties import queries as duties
from shop.duties.models import Tick
from shop.room.models import SUCTION, LineBaseline, LinePart, LineRules, PartKind, ReadingKind
from shop.room.queries.readings import readings

#: Charts and baselines take what is read by eye, about once a day, for which they are made: what an instrument sends
#: each minute hangs together from one to the next, and would signal all the time.
BY_EYE = {"instrument__isnull": True}
#: Keys of the meters that count what goes through the line: hours since it was cleaned, and sides in all.
LINE, SIDES = "line", "sides"
#: The charts begin with at most so many readings back.
_MOST = 400

POINTS: dict[ReadingKind, Point] = {
    ReadingKind.HOLD_DOWN_KPA: Point.PLATTER,
    ReadingKind.CHIP_KPA: Point.HOSE,
    ReadingKind.TRAP_KPA: Point.TRAP,
    ReadingKind.PUMP_KPA: Point.PUMP,
}
#: The point that is read at a kind of part.
AT_PART: dict[str, Point] = {
    PartKind.HOLD_DOWN: Point.PLATTER,
    PartKind.HOSE: Point.HOSE,
    PartKind.TRAP: Point.TRAP,
    PartKind.PUMP: Point.PUMP,
}
#: Where each fault lies.
LIES_IN: dict[Fault, tuple[str, ...]] = {
    Fault.BLOCKED_PICK_UP: (PartKind.HOSE,),
    Fault.BLOCKED_HOSE: (PartKind.HOSE,),
    Fault.FULL_FILTER: (PartKind.FILTER,),
    Fault.LEAK_AT_PLATTER: (PartKind.PORTS, PartKind.HOLD_DOWN),
    Fault.TIRED_PUMP: (PartKind.PUMP,),
}


@dataclass(frozen=True)
class FaultWords:
    """What a fault is called, and what is looked at first. Common practice, no source."""

    name: str
    first: str


FAULTS: dict[Fault, FaultWords] = {
    Fault.BLOCKED_PICK_UP: FaultWords(
        "a closing pick-up behind the stylus",
        "With the pump off and the tip cold, look at the nozzle that takes the chip up, and at the hose right behind "
        "it. Wet what comes out of it.",
    ),
    Fault.BLOCKED_HOSE: FaultWords(
        "a blocked chip hose",
        "With the pump off, look through the hose from the head to the trap, bends first. Chip in it burns fiercely: "
        "wet it, no hot or sparking tool.",
    ),
    Fault.FULL_FILTER: FaultWords(
        "a full filter",
        "With the pump off, look at the filter before the pump, and change it. Wet what comes out of it.",
    ),
    Fault.LEAK_AT_PLATTER: FaultWords(
        "a leak at the platter",
        "Look under the disc: dirt at its edge, a bent disc, ports of another size left open; then the seal.",
    ),
    Fault.TIRED_PUMP: FaultWords(
        "a tired pump", "Shut the inlet and read the pump by itself; then its oil, its own filter, its belt or vanes."
    ),
}
UNEXPLAINED = FaultWords(
    "no fault that is known here",
    "Read the gauge again under the same conditions, then look whether the baseline holds.",
)


def line_rules() -> LineRules:
    """The shop's own rules; those of the model where nobody set any."""
    return LineRules.objects.select_related("talc_duty__last_entry").filter(pk=1).first() or LineRules(pk=1, version=0)


def cleaned_at() -> datetime | None:
    """When the line was last cleaned, as its meter tells."""
    meter = duties.meter(LINE)
    return meter.reset_at if meter else None


def parts() -> QuerySet[LinePart]:
    """All parts in order, those the line does not have too, each with the care that sees to it."""
    return LinePart.objects.select_related("duty__last_entry", "duty__meter")


def baselines() -> dict[ReadingKind, LineBaseline]:
    """The baseline that counts of each point that has one: one query."""
    latest = LineBaseline.objects.values("kind").annotate(last=Max("pk")).values("last")
    return {ReadingKind(each.kind): each for each in LineBaseline.objects.filter(pk__in=latest).select_related("by")}


@dataclass(frozen=True)
class Taken:
    """One reading of a point."""

    at: datetime
    value: float


@dataclass(frozen=True)
class PointState:
    """A point's readings since the line was last cleaned, on charts against its baseline; charts None without any."""

    kind: ReadingKind
    baseline: LineBaseline
    taken: tuple[Taken, ...]
    charts: Drifted | None

    @property
    def point(self) -> Point:
        return POINTS[self.kind]

    @property
    def since(self) -> datetime | None:
        """Since when it signals."""
        if self.charts is None or self.charts.since is None:
            return None
        return self.taken[self.charts.since].at

    @property
    def strayed(self) -> tuple[datetime, datetime] | None:
        """From when until when it strayed before, of a point that is clean again."""
        if self.charts is None or self.charts.strayed is None:
            return None
        first, last = self.charts.strayed
        return self.taken[first].at, self.taken[last].at


def point_state(kind: ReadingKind, baseline: LineBaseline, taken: Sequence[Taken]) -> PointState:
    kept = tuple(taken[-_MOST:])
    charts = None
    if kept:
        clean = vacuum.Baseline(baseline.target, baseline.sd, baseline.count)
        charts = vacuum.drifted([each.value for each in kept], clean)
    return PointState(kind, baseline, kept, charts)


def chart_begins(baseline: LineBaseline, cleaned: datetime | None) -> datetime:
    """From when on readings count for the charts: the last cleaning, or the baseline's own first reading if later."""
    return baseline.first_at if cleaned is None or baseline.first_at > cleaned else cleaned


def point_states(cleaned: datetime | None) -> list[PointState]:
    """Every point that has a baseline, in the order of the line: two queries."""
    clean = baselines()
    if not clean:
        return []
    begins = {kind: chart_begins(each, cleaned) for kind, each in clean.items()}
    taken: dict[str, list[Taken]] = defaultdict(list)
    rows = readings().filter(kind__in=list(clean), at__gte=min(begins.values()), **BY_EYE).order_by("at", "id")
    for kind, at, value in rows.values_list("kind", "at", "value"):
        if at >= begins[ReadingKind(kind)]:
            taken[kind].append(Taken(at, value))
    return [point_state(kind, clean[kind], taken[kind]) for kind in SUCTION if kind in clean]


@dataclass(frozen=True)
class Diagnosis:
    """What the points together speak for. out: those that signal; suspects: likeliest first, none if unexplained."""

    out: tuple[PointState, ...]
    suspects: tuple[Suspect, ...]

    @property
    def first(self) -> Fault | None:
        return self.suspects[0].fault if self.suspects else None

    @property
    def words(self) -> FaultWords:
        return FAULTS[self.first] if self.first else UNEXPLAINED

    @property
    def others(self) -> list[FaultWords]:
        return [FAULTS[each.fault] for each in self.suspects[1:]]

    @property
    def unread(self) -> tuple[Point, ...]:
        """The points whose reading would tell the suspects apart."""
        return self.suspects[0].unread if self.suspects else ()

    @property
    def is_step(self) -> bool:
        return any(each.charts is not None and each.charts.is_step for each in self.out)

    @property
    def grade(self) -> Grade:
        """What came at once is cut with care; a drift is to be known. The shop's own limits may weigh more."""
        return Grade.CARE if self.is_step else Grade.NOTE


def diagnosis(points: Iterable[PointState]) -> Diagnosis | None:
    """None while no point signals."""
    read = [(each, each.charts) for each in points if each.charts is not None]
    out = tuple(each for each, charts in read if charts.is_out)
    if not out:
        return None
    ways = {each.point: charts.way for each, charts in read}
    shares = {each.point: charts.share for each, charts in read}
    return Diagnosis(out, tuple(vacuum.suspects(ways, shares)))


# Since when -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Ran:
    """What went through the line since some moment: seconds cut and sides."""

    since: datetime | None
    cut_s: int
    sides: int

    @property
    def hours(self) -> float:
        return self.cut_s / 3600


def ran_since(moments: Mapping[str, datetime | None]) -> dict[str, Ran]:
    """What was cut since each of these moments, by the meters of hours and sides: one query each."""
    found = {}
    for name, since in moments.items():
        ticks = Tick.objects.filter(meter__key__in=("cut", SIDES)).order_by()
        if since is not None:
            ticks = ticks.filter(at__gt=since)
        sums = dict(ticks.values_list("meter__key").annotate(sum=Sum("came")).values_list("meter__key", "sum"))
        found[name] = Ran(since, max(0, sums.get("cut") or 0), max(0, sums.get(SIDES) or 0))
    return found


# Parts ----------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PartState:
    """A part with what is known of it now. grade: None while nothing speaks against it; words: what does."""

    part: LinePart
    grade: Grade | None
    words: str
    reading: Taken | None
    share: float | None


def part_states(
    rows: Iterable[LinePart], points: Sequence[PointState], found: Diagnosis | None, now: datetime
) -> list[PartState]:
    """Each part that the line has, by its care and by what the charts speak for."""
    by_point = {each.point: each for each in points}
    meters = {state.meter.key: state for state in duties.states()}
    states = []
    for part in rows:
        if not part.is_active:
            continue
        marks: list[tuple[Grade, str]] = []
        duty = part.duty
        if duty is not None and duty.is_active:
            if duty.late_at is not None and duty.late_at <= now:
                marks.append((Grade(duty.late_grade), f"{duty.name}: late"))
            elif duty.due_at is not None and duty.due_at <= now:
                marks.append((Grade.NOTE, f"{duty.name}: due"))
        key = {PartKind.TRAP: "chip", PartKind.HOSE: LINE}.get(PartKind(part.kind))
        state = meters.get(key) if key else None
        if state is not None and state.grade is not None:
            marks.append((state.grade, f"{state.meter.name}: {state.text}"))
        if found is not None and found.first is not None and part.kind in LIES_IN[found.first]:
            marks.append((found.grade, f"Suction speaks for {found.words.name}"))
        marks.sort(key=lambda mark: -mark[0])
        at = by_point.get(AT_PART[part.kind]) if part.kind in AT_PART else None
        states.append(
            PartState(
                part=part,
                grade=marks[0][0] if marks else None,
                words="; ".join(words for _, words in marks),
                reading=at.taken[-1] if at and at.taken else None,
                share=at.charts.share if at and at.charts else None,
            )
        )
    return states
