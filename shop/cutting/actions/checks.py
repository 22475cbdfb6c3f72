"""What is looked at of a side before it is cut, or before it is logged: each raises Refused where it cannot be."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import DateTimeField, IntegerField, Q, QuerySet

from shop.calc.groove import SidePlan
from shop.cutting import plans, rules, wording
from shop.cutting.actions.bookings import locked
from shop.cutting.models import UNDER_WAY, Booking, BookingSide, DiscSize, Lathe, Life, RunningSide, Side, Speed, Stylus
from shop.people.models import Person
from shop.prepared import Given, prepared
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.stock import rules as stock_rules
from shop.stock.models import ItemKind, Lot

#: What the keys of doubts begin with that take an engineer's reason.
OVERRULE = "overrule-"
#: Times are given by the minute: of two sides that follow each other one may seem to begin so long before the other
#: ends.
ROUNDING = timedelta(minutes=1)


@dataclass(frozen=True)
class Cut:
    """The figures of a cut, checked, with the plan they make."""

    cut_s: int
    disc_in: int
    speed: str
    pitch_um: float
    plan: SidePlan


def figures_of(
    cut_s: int,
    disc_in: int,
    speed: str,
    width_um: float,
    pitch_um: float | None,
    wanted: BookingSide | None,
    *,
    spirals_s: int = 0,
) -> Cut:
    """The figures of a cut, looked at, and its plan, with the bands of the booked titles that it reached."""
    if disc_in not in DiscSize.values:
        raise Refused("Choose the record size.", field="disc_in")
    if speed not in Speed.values:
        raise Refused("Choose the speed.", field="speed")
    low_s, high_s = plans.CUT_S
    if not low_s <= cut_s <= high_s:
        raise Refused(
            f"Give a length from {wording.minutes_words(low_s)} to {wording.minutes_words(high_s)}.", field="cut_s"
        )
    rules.between(width_um, *plans.WIDTH_UM, field="width_um", unit="µm")
    land_um = wanted.land_um if wanted is not None else 0.0
    music_s = max(1, cut_s - spirals_s)
    _, pauses = plans.times_of(wanted.titles, wanted.play_s, music_s) if wanted is not None else ([], [])

    def planned(pitch_um: float | None) -> SidePlan:
        return plans.plan(
            play_s=music_s,
            disc_in=disc_in,
            speed=speed,
            width_um=width_um,
            land_um=land_um,
            pitch_um=pitch_um,
            pauses_s=pauses,
            kept=plans.figures(),
        )

    if pitch_um is None:
        pitch_um = plans.usual_pitch_um(planned(None), width_um=width_um, land_um=land_um)
    rules.between(pitch_um, *plans.PITCH_UM, field="pitch_um", unit="µm")
    if pitch_um < width_um:
        raise Refused(
            f"Grooves {width_um:.0f} µm wide would overlap at a pitch of {pitch_um:.0f} µm: fewer lines per inch, or a "
            "narrower groove.",
            field="pitch_um",
        )
    return Cut(cut_s, disc_in, speed, pitch_um, planned(pitch_um))


def open_booking(wanted: BookingSide | None, *, field: str = "wanted") -> Booking | None:
    if wanted is None:
        return None
    held = locked(wanted.booking)
    if held.is_open:
        return held
    state, when = ("finished", held.finished_at) if held.finished_at else ("cancelled", held.cancelled_at)
    assert when is not None
    raise Refused(
        f"Booking {held.code} was {state} at {rules.clock_words(when)}. Open it again, or log the side without it.",
        field=field,
    )


def life_in_head(lathe: Lathe, at: datetime, stylus: Stylus | None) -> Life:
    fitting = rules.in_head(lathe, at)
    if stylus is not None and (fitting is None or fitting.life.stylus_id != stylus.pk):
        gone = Stylus.objects.get(pk=stylus.pk)
        if gone.retired_at is not None and gone.retired_at <= at:
            raise Refused(
                f"{gone} was retired at {rules.clock_words(gone.retired_at)}. Fit another, then log the side.",
                field="stylus",
            )
        there = f"{fitting.life.stylus} was" if fitting else "nothing was"
        raise Refused(f"{gone} was not in the head of {lathe} at {rules.clock_words(at)}; {there}.", field="stylus")
    if fitting is None:
        raise Refused(
            f"No stylus was in the head of {lathe} at {rules.clock_words(at)}. Fit it first, with the time it went in.",
            field="stylus",
        )
    return fitting.life


def overruled(cut: Cut, lot: Lot, *, day: date, by: Person, overrule: str, sure: Collection[str]) -> str:
    """The engineer's reason for what speaks against the cut: it is longer than its disc holds, its lot is not fit on
    `day`; "" if nothing does.

    All of it is told at once, each with its own tick: a reason covers what was ticked, and nothing that was not shown.
    """
    against = _against(cut, lot, day=day, by=by)
    if not against:
        return ""
    if not by.is_engineer:
        told = " ".join(doubt.sentence for doubt in against)
        raise Refused(f"{told} Look at it again; an engineer may overrule it.", field=against[0].field)
    ask_unless_sure(against, sure)
    if not overrule:
        raise Refused("Give the reason for which it is overruled.", field="overrule")
    return overrule


def _against(cut: Cut, lot: Lot, *, day: date, by: Person) -> list[Doubt]:
    found = []
    if not cut.plan.fits:
        figures = f"{cut.cut_s}-{cut.disc_in}-{cut.speed}-{cut.pitch_um:.1f}"
        sentence = wording.fit_words(cut.plan, play_s=cut.cut_s, disc_in=cut.disc_in, person=by)
        confirm = "Overrule it: it does not fit, and I give the reason."
        found.append(Doubt(key=f"{OVERRULE}fit-{figures}", field="cut_s", sentence=sentence, confirm=confirm))
    if sentence := stock_rules.unfit_words(lot, day=day):
        what, words = ("held", "is on hold") if lot.is_held else ("past-date", "is past its date")
        confirm = f"Overrule it: lot {lot.code} {words}, and I give the reason."
        found.append(Doubt(key=f"{OVERRULE}{what}-{lot.pk}", field="lot", sentence=sentence, confirm=confirm))
    return found


def alone_on_its_lathe(lathe: Lathe, at: datetime, cut_s: int, *, is_timed: bool) -> list[Doubt]:
    """Refuse a side that was cut while another that stands was on that lathe; a doubt for what the minutes that people
    give may make of two that came one after the other.

    at: when it ended. is_timed: whether somebody said so; one of "just now" ends when it is logged, and two that are
    logged in one minute are asked about.
    """
    begun, ended = _minute(at - timedelta(seconds=cut_s)), _minute(at)
    longest = timedelta(seconds=plans.CUT_S[1])
    asked: list[Doubt] = []
    for side in _ended_between(lathe=lathe.pk, first=begun, before=ended + longest):
        same_minute = _minute(side.at) == ended
        # how far one of the two would have to be moved
        off_by = min(_minute(side.at) - begun, ended - _minute(side.at - timedelta(seconds=side.cut_s)))
        if off_by <= timedelta() and not same_minute:
            continue
        said = _same_minute_words(side, lathe, at) if same_minute else _meanwhile_words(side, at, cut_s)
        if off_by > ROUNDING and (is_timed or not same_minute):
            raise Refused(
                f"{said} One lathe cuts one side at a time: give this one another time or length, or withdraw the "
                "other first.",
                field="at",
            )
        key = f"{'same-minute' if same_minute else 'meanwhile'}-{side.pk}:at"
        change = "Give the time this one ended, or its length, if either is another."
        asked.append(Doubt(key=key, field="at", sentence=f"{said} {change}"))
    return asked


@prepared
def _ended_between() -> QuerySet[Side]:
    ended = {"at__gte": Given("first", DateTimeField()), "at__lt": Given("before", DateTimeField())}
    near = Side.objects.filter(lathe=Given("lathe", IntegerField()), withdrawal__isnull=True, **ended)
    return near.select_related("wanted__booking").order_by("-at", "-id")


def _same_minute_words(other: Side, lathe: Lathe, at: datetime) -> str:
    return f"{other.wanted or other} is logged on {lathe} as ended at {rules.clock_words(at)} too."


def _meanwhile_words(other: Side, at: datetime, cut_s: int) -> str:
    name = other.wanted or other
    if other.at < at:
        begun = rules.clock_words(at - timedelta(seconds=cut_s))
        return f"This would have begun at {begun}, before {name} ended at {rules.clock_words(other.at)}."
    begun = rules.clock_words(other.at - timedelta(seconds=other.cut_s))
    return f"{name} was begun at {begun}, before this one ended at {rules.clock_words(at)}."


def none_under_way(
    wanted: BookingSide | None, lathe: Lathe, at: datetime, cut_s: int, *, is_timed: bool
) -> list[Doubt]:
    """Refuse to log a side over one that was started on that lathe and of which nobody has said what became of it, or
    for a booked side that was begun, stopped, and not judged; a doubt where the two may be one cut all the same.

    One that was started is logged by saying what became of it: logged beside that it would take two blanks. One that
    was cut at another time is in nobody's way. at, is_timed: as for alone_on_its_lathe; "just now" may be late for the
    very side that was stopped, and is asked about.
    """
    begun, ended = _minute(at - timedelta(seconds=cut_s)), _minute(at)
    asked: list[Doubt] = []
    for run in _under_way(lathe=lathe.pk, wanted=wanted.pk if wanted is not None else 0):
        is_same = wanted is not None and run.wanted_id == wanted.pk
        off_by = None
        if run.lathe_id == lathe.pk:
            off_by = ended - _minute(run.started_at)
            if run.stopped_at is not None:
                off_by = min(off_by, _minute(run.stopped_at) - begun)
        is_over = off_by is not None and off_by > ROUNDING
        if run.is_running:
            if is_over or (off_by is not None and not is_timed):
                raise Refused(_runs_words(run), field="stylus")
        elif is_over or is_same:
            raise Refused(_unjudged_words(run), field="stylus")
        if is_same or (off_by is not None and (off_by >= timedelta() or not is_timed)):
            asked.append(_maybe_the_same(run))
    return asked


@prepared
def _under_way() -> QuerySet[RunningSide]:
    near = Q(lathe=Given("lathe", IntegerField())) | Q(wanted=Given("wanted", IntegerField()))
    begun = RunningSide.objects.filter(near, UNDER_WAY)
    return begun.select_related("wanted__booking", "lathe").order_by("started_at", "id")


def _runs_words(run: RunningSide) -> str:
    return (
        f"{run.name} runs on {run.lathe} since {rules.clock_words(run.started_at)}. Stop it, and say what became of "
        "it: that logs it. Was this one cut before it, give the time it ended."
    )


def _unjudged_words(run: RunningSide) -> str:
    assert run.stopped_at is not None
    return (
        f"{run.name} was begun on {run.lathe} at {rules.clock_words(run.started_at)} and stopped at "
        f"{rules.clock_words(run.stopped_at)}, and nobody has said what became of it. Say that first: that logs it. Or "
        "say that it was not cut."
    )


def _maybe_the_same(run: RunningSide) -> Doubt:
    when = rules.clock_words(run.started_at)
    stands = "runs still" if run.is_running else "nobody has said what became of it"
    sentence = f"{run.name} was begun on {run.lathe} at {when}, and {stands}. Is this another cut?"
    return Doubt(key=f"begun-{run.pk}:stylus", field="stylus", sentence=sentence)


def _minute(at: datetime) -> datetime:
    """People give minutes: two sides one after the other may share one."""
    return at.replace(second=0, microsecond=0)


def blank_of(lot: Lot, disc_in: int) -> Lot:
    held = stock_rules.locked(lot)
    size = held.item.blank_in
    if held.item.kind != ItemKind.BLANK or size is None:
        raise Refused(f"Lot {held.code} is {held.item}, not blanks.", field="lot")
    if size < disc_in:
        raise Refused(
            f"A {disc_in} inch record does not fit a {size} inch blank. Take a larger one, or another record size.",
            field="lot",
        )
    return held


def differs_from_booking(wanted: BookingSide | None, cut: Cut, lot: Lot) -> list[Doubt]:
    """Where a cut is not what was booked, of what can be seen before it begins."""
    found: list[Doubt] = []
    if wanted is None:
        return found

    def ask(what: str, field: str, sentence: str) -> None:
        found.append(Doubt(key=f"{what}:{field}", field=field, sentence=sentence))

    size = lot.item.blank_in
    if size != wanted.blank_in:
        ask(
            f"size-{size}",
            "lot",
            f"Side {wanted} is booked on a {wanted.blank_in} inch blank; this one is {size} inch.",
        )
    if cut.disc_in != wanted.disc_in:
        ask(f"disc-{cut.disc_in}", "disc_in", f"Side {wanted} is booked as a {wanted.disc_in} inch record.")
    if cut.speed != wanted.speed:
        ask(f"speed-{cut.speed}", "speed", f"Side {wanted} is booked at {wanted.get_speed_display()}.")
    return found
