"""A side laid out on its disc, from the lead-in to the finishing groove: where each stretch lies and when it begins.

Diameters and widths are in mm, the music's pitch is in um, times are in seconds from where the head goes down. The
lead-in lies outside the first groove as far as the record's edge lets it, and takes room of the music beyond that; a
band is the pause between two titles, its groove opened out to a width that can be seen, and never closer than the music
may be: a long pause takes as much radius as its turns need.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.calc.bounds import number, numbers
from shop.calc.groove import Disc, SidePlan, arc_m, plan_side

#: A pause shorter than this is no band: a lathe does not open its pitch for it, and the title before runs on.
LEAST_BAND_S = 0.5
_MOST_S = 86_400


class Kind(StrEnum):
    LEAD_IN = "lead-in"
    MUSIC = "music"
    BAND = "band"
    LEAD_OUT = "lead-out"
    FINISHING = "finishing groove"


@dataclass(frozen=True)
class Spirals:
    """What a lathe adds to the music: how wide, how long.

    lead_in_turns, lead_in_pitch_mm   the spiral that leads in; IEC 60098:1987 has 1.2 mm, 0.4 either way
    band_mm                           radius that a band between two titles takes at least: a long one needs more
    lead_out_pitch_mm                 the spiral that leads out, a turn or more: 6.4 mm, 3.2 either way (the same)
    run_out_mm                        radius kept inside the last groove besides what the disc's own limit leaves
    """

    lead_in_turns: float = 2.0
    lead_in_pitch_mm: float = 1.2
    band_mm: float = 0.8
    lead_out_pitch_mm: float = 6.4
    run_out_mm: float = 0.0

    def __post_init__(self) -> None:
        number("lead_in_turns", self.lead_in_turns, at_least=0, at_most=20)
        number("lead_in_pitch_mm", self.lead_in_pitch_mm, above=0, at_most=5)
        number("band_mm", self.band_mm, at_least=0, at_most=10)
        number("lead_out_pitch_mm", self.lead_out_pitch_mm, above=0, at_most=20)
        number("run_out_mm", self.run_out_mm, at_least=0, at_most=40)

    @property
    def lead_in_mm(self) -> float:
        """Radius that the lead-in takes."""
        return self.lead_in_turns * self.lead_in_pitch_mm


@dataclass(frozen=True)
class Stretch:
    """One part of the groove. place: which title, or the band after which, from 1; 0 for the others."""

    kind: Kind
    place: int
    begins_s: float
    seconds: float
    turns: float
    from_mm: float
    to_mm: float
    length_m: float

    @property
    def width_mm(self) -> float:
        """Radius it takes."""
        return (self.from_mm - self.to_mm) / 2


@dataclass(frozen=True)
class Layout:
    """A side on its disc. plan: of the music alone, its bands counted as room that is kept."""

    plan: SidePlan
    stretches: tuple[Stretch, ...]

    @property
    def seconds(self) -> float:
        """Under the stylus, from the lead-in to the end of the finishing groove."""
        return math.fsum(one.seconds for one in self.stretches)

    @property
    def length_m(self) -> float:
        return math.fsum(one.length_m for one in self.stretches)

    @property
    def starts_mm(self) -> float:
        """Diameter where the head goes down."""
        return self.stretches[0].from_mm

    @property
    def music_from_mm(self) -> float:
        return next(one.from_mm for one in self.stretches if one.kind == Kind.MUSIC)

    @property
    def last_groove_mm(self) -> float:
        """Diameter where the music ends."""
        return [one.to_mm for one in self.stretches if one.kind == Kind.MUSIC][-1]


def first_groove_mm(disc: Disc, spirals: Spirals) -> float:
    """Diameter where the music may begin: the disc's own, or further in where the lead-in does not fit outside it."""
    return min(disc.outer_mm, disc.edge_mm - 2 * spirals.lead_in_mm)


def band_widths_mm(
    pauses_s: Sequence[float],
    rpm: float,
    width_um: float,
    land_um: float,
    *,
    pitch_um: float | None = None,
    band_mm: float,
) -> list[float]:
    """Radius that each band takes: `band_mm`, or more where its turns need it; 0 for a pause of 0.

    The turns of a band lie no closer than the music's may: groove and land apart, or `pitch_um` where the music itself
    is cut closer than that.
    """
    closest = width_um + land_um if pitch_um is None else min(width_um + land_um, pitch_um)
    return [max(band_mm, pause * rpm / 60 * closest / 1000) if pause else 0.0 for pause in pauses_s]


def plan_music(
    disc: Disc,
    titles_s: Sequence[float],
    pauses_s: Sequence[float],
    rpm: float,
    width_um: float,
    land_um: float,
    *,
    pitch_um: float | None = None,
    spirals: Spirals = Spirals(),
) -> SidePlan:
    """`plan_side` of the titles on that disc, with lead-in, bands and run-out counted as room kept.

    titles_s: seconds of each; pauses_s: seconds between them, one fewer. A pause under LEAST_BAND_S is no band.
    turns, longest_minutes and short_by_minutes are of the whole side, pauses too. ValueError as plan_side, and for
    pauses that are not one fewer than titles.
    """
    titles, pauses = _times(titles_s, pauses_s)
    bands = band_widths_mm(pauses, rpm, width_um, land_um, pitch_um=pitch_um, band_mm=spirals.band_mm)
    first = first_groove_mm(disc, spirals)
    # What is kept may be more than there is: then hardly any music fits, and that is what is said.
    kept = min(math.fsum(bands) + spirals.run_out_mm, 0.999 * (first - disc.inner_mm) / 2)
    found = plan_side(
        math.fsum(titles) / 60,
        rpm,
        first,
        disc.inner_mm,
        width_um,
        land_um,
        pitch_um=pitch_um,
        extra_mm=kept,
    )
    pause = math.fsum(pauses) / 60
    if not pause and not spirals.run_out_mm:
        return found
    # The room kept for the run-out lies inside the last groove, not outside the first: nothing is cut there.
    last = max(0.0, found.inner_mm + 2 * spirals.run_out_mm) if found.inner_mm else 0.0
    return SidePlan(
        **vars(found)
        | {
            "turns": found.turns + pause * rpm,
            "longest_minutes": found.longest_minutes + pause,
            "inner_mm": last,
            "inner_speed_mm_s": math.pi * last * rpm / 60,
        }
    )


def lay_out(
    disc: Disc,
    titles_s: Sequence[float],
    pauses_s: Sequence[float],
    rpm: float,
    width_um: float,
    land_um: float,
    *,
    pitch_um: float,
    spirals: Spirals = Spirals(),
) -> Layout:
    """Every stretch of the side at that pitch, from the outside in; one that does not fit runs on as far as it would.

    Each stretch is an Archimedean spiral between its two diameters: its length is exact. What would lie within the
    finishing groove has no lead-out; what would run through the centre ends there.
    """
    plan = plan_music(disc, titles_s, pauses_s, rpm, width_um, land_um, pitch_um=pitch_um, spirals=spirals)
    titles, pauses = _times(titles_s, pauses_s)
    bands = band_widths_mm(pauses, rpm, width_um, land_um, pitch_um=plan.pitch_um, band_mm=spirals.band_mm)
    lead_in_s = spirals.lead_in_turns * 60 / rpm
    laid = _Laid(at_mm=first_groove_mm(disc, spirals) + 2 * spirals.lead_in_mm, rpm=rpm)
    if lead_in_s:
        laid.add(Kind.LEAD_IN, 0, lead_in_s, spirals.lead_in_mm)
    for place, seconds in enumerate(titles, start=1):
        laid.add(Kind.MUSIC, place, seconds, seconds * rpm / 60 * plan.pitch_um / 1000)
        if place <= len(pauses) and pauses[place - 1]:
            laid.add(Kind.BAND, place, pauses[place - 1], bands[place - 1])
    room = (laid.at_mm - disc.finishing_mm) / 2
    if room > 0:
        turns = max(1.0, room / spirals.lead_out_pitch_mm)
        laid.add(Kind.LEAD_OUT, 0, turns * 60 / rpm, room)
        laid.add(Kind.FINISHING, 0, 60 / rpm, 0.0)
    return Layout(plan, tuple(laid.stretches))


class _Laid:
    """Stretches put down one after the other, from the outside in."""

    def __init__(self, at_mm: float, rpm: float) -> None:
        self.at_mm, self.rpm, self.at_s = at_mm, rpm, 0.0
        self.stretches: list[Stretch] = []

    def add(self, kind: Kind, place: int, seconds: float, width_mm: float) -> None:
        turns, to_mm = seconds * self.rpm / 60, max(0.0, self.at_mm - 2 * width_mm)
        if to_mm < self.at_mm:
            length = arc_m(self.at_mm, to_mm, (self.at_mm - to_mm) / 2 * 1000 / turns)
        else:
            length = math.pi * self.at_mm * turns / 1000
        self.stretches.append(Stretch(kind, place, self.at_s, seconds, turns, self.at_mm, to_mm, length))
        self.at_mm, self.at_s = to_mm, self.at_s + seconds


def _times(titles_s: Sequence[float], pauses_s: Sequence[float]) -> tuple[list[float], list[float]]:
    titles = numbers("titles_s", titles_s, above=0, at_most=_MOST_S)
    pauses = numbers("pauses_s", pauses_s, at_least=0, at_most=_MOST_S)
    if len(pauses) != max(0, len(titles) - 1) or not titles:
        raise ValueError("titles_s must hold at least one title, and pauses_s one pause fewer than that.")
    short = [pause if pause < LEAST_BAND_S else 0.0 for pause in pauses]
    return (
        [title + more for title, more in zip(titles, [*short, 0.0], strict=True)],
        [pause - less for pause, less in zip(pauses, short, strict=True)],
    )
