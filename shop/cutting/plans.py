"""Holding a side against its disc: from the shop's records and forms to shop.calc.groove."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shop.alongside import own_row, row_of
from shop.calc import groove, layout
from shop.calc.groove import SidePlan
from shop.calc.layout import Layout, Spirals
from shop.cutting.models import BookingSide, PlanFigures
from shop.recall import recalled

#: Chip is cast film: 1.58 to 1.65 g/cm3 by a producer's data sheet (second hand). With modulation, spirals and
#: lead-out the mass is right within half either way, so the middle will do.
CHIP_DENSITY_G_CM3 = 1.6

#: Coarser than this nobody winds a groove only to fill the disc: about 170 lines an inch (common practice, no source).
COARSEST_USUAL_UM = 150.0

#: What may be entered, in um, s: wide enough for any groove cut, narrow enough to catch a slip (the shop's own bounds).
WIDTH_UM = (10.0, 400.0)
LAND_UM = (0.0, 400.0)
PITCH_UM = (25.0, 1000.0)
CUT_S = (1, 2 * 3600)
#: More titles than any side has.
MOST_TITLES = 40


def disc(disc_in: int) -> groove.Disc:
    """What a record of that nominal size allows (a value of DiscSize)."""
    return groove.DISCS[disc_in]


def blank_for(disc_in: int) -> int:
    """The blank usually taken for a record of that size, in inches."""
    return groove.DISCS[disc_in].blank_in


# The room's own figures -----------------------------------------------------------------------------------------------


@recalled
def figures() -> PlanFigures:
    """How this room lays its sides out; the model's defaults where nobody has said."""
    return own_row(PlanFigures)


def figures_with(wanted: BookingSide) -> PlanFigures:
    """The same, without a query where they were read along with the side (as `figures`)."""
    came = getattr(wanted, "figures", ...)
    return figures() if came is ... else row_of(PlanFigures, came)


def spirals_of(kept: PlanFigures) -> Spirals:
    return Spirals(
        lead_in_turns=kept.lead_in_turns,
        lead_in_pitch_mm=kept.lead_in_pitch_mm,
        band_mm=kept.band_mm,
        lead_out_pitch_mm=kept.lead_out_pitch_mm,
        run_out_mm=kept.run_out_mm,
    )


def times_of(
    titles: Sequence[Mapping[str, Any]], booked_s: float, cut_s: float | None = None
) -> tuple[list[float], list[float]]:
    """Seconds of each title and of the pauses between them, for a side booked as `booked_s` long.

    What the titles leave of it is shared among the pauses. cut_s: how long it was cut, if that is another: a side that
    was stopped has the titles that were reached, one that ran on has a longer last one.
    """
    if len(titles) < 2:
        return [float(cut_s or booked_s)], []
    lengths = [float(title["play_s"]) for title in titles]
    pause = max(0.0, booked_s - math.fsum(lengths)) / (len(lengths) - 1)
    left = float(cut_s or booked_s)
    reached: list[float] = []
    for place, length in enumerate(lengths):
        is_last = place == len(lengths) - 1
        if is_last or left <= length + pause:
            reached.append(left if is_last else min(left, length))
            break
        reached.append(length)
        left -= length + pause
    return reached, [pause] * (len(reached) - 1)


# Plans ----------------------------------------------------------------------------------------------------------------


def plan(
    *,
    play_s: float,
    disc_in: int,
    speed: str,
    width_um: float,
    land_um: float,
    pitch_um: float | None = None,
    pauses_s: Sequence[float] = (),
    kept: PlanFigures | None = None,
) -> SidePlan:
    """Plan of so many seconds on a record of that size, pauses included; ValueError for what no lathe cuts.

    pauses_s: between its titles, each a band. kept: the room's own figures, those the model starts with if not given.
    """
    return layout.plan_music(
        disc(disc_in),
        *_shared(play_s, pauses_s),
        groove.RPM[speed],
        width_um,
        land_um,
        pitch_um=pitch_um,
        spirals=spirals_of(kept or PlanFigures()),
    )


def _shared(play_s: float, pauses_s: Sequence[float]) -> tuple[list[float], list[float]]:
    """For a plan only the sums count, not which title is how long."""
    music = play_s - math.fsum(pauses_s)
    return [music / (len(pauses_s) + 1)] * (len(pauses_s) + 1), list(pauses_s)


def plan_of(wanted: BookingSide) -> SidePlan:
    """Plan of a booked side, at the pitch that fills its disc."""
    return _plan_of(wanted)


def _plan_of(wanted: BookingSide, pitch_um: float | None = None) -> SidePlan:
    _, pauses = times_of(wanted.titles, wanted.play_s)
    return plan(
        play_s=wanted.play_s,
        disc_in=wanted.disc_in,
        speed=wanted.speed,
        width_um=wanted.width_um,
        land_um=wanted.land_um,
        pitch_um=pitch_um,
        pauses_s=pauses,
        kept=figures_with(wanted),
    )


def lay_out(
    *,
    titles_s: Sequence[float],
    pauses_s: Sequence[float],
    disc_in: int,
    speed: str,
    width_um: float,
    land_um: float,
    pitch_um: float,
    kept: PlanFigures,
) -> Layout:
    """Every stretch of such a side on a record of that size."""
    return layout.lay_out(
        disc(disc_in),
        titles_s,
        pauses_s,
        groove.RPM[speed],
        width_um,
        land_um,
        pitch_um=pitch_um,
        spirals=spirals_of(kept),
    )


def layout_of(wanted: BookingSide) -> Layout:
    """Every stretch of a booked side, at its usual pitch."""
    titles, pauses = times_of(wanted.titles, wanted.play_s)
    return lay_out(
        titles_s=titles,
        pauses_s=pauses,
        disc_in=wanted.disc_in,
        speed=wanted.speed,
        width_um=wanted.width_um,
        land_um=wanted.land_um,
        pitch_um=usual_pitch_um(plan_of(wanted), width_um=wanted.width_um, land_um=wanted.land_um),
        kept=figures_with(wanted),
    )


def usual_pitch_um(filling: SidePlan, *, width_um: float, land_um: float) -> float:
    """The pitch to take for a side when none is said: the one that fills the disc, within what is usual.

    Never tighter than groove and land, never coarser than COARSEST_USUAL_UM unless those ask for it. A whole number of
    lines per inch where that leaves the land: the next one up, so that what is shown and typed back still fits.
    """
    tightest = width_um + land_um
    pitch = max(tightest, min(filling.pitch_um, max(tightest, COARSEST_USUAL_UM)))
    whole = groove.pitch_from_lines(math.ceil(groove.lines_per_inch(pitch) - 1e-9))
    return whole if whole >= tightest else pitch


def chip_mg(*, width_um: float, length_m: float, tip_radius_um: float | None = None) -> int:
    """Chip of so many metres of groove, in whole mg; right within half either way. None: of a sharp tip."""
    widest_tip = min(tip_radius_um or 0.0, width_um / 2)
    return round(1000 * groove.chip_g(width_um, length_m, CHIP_DENSITY_G_CM3, widest_tip))


@dataclass(frozen=True)
class Estimate:
    """What cutting a side will take: seconds under the stylus, metres of groove, mg of chip, at the pitch assumed."""

    cut_s: int
    pitch_um: float
    length_m: float
    chip_mg: int


def estimate(wanted: BookingSide) -> Estimate:
    """What a booked side will take, at its usual pitch; one that does not fit is counted as long as it is asked for."""
    pitch = usual_pitch_um(plan_of(wanted), width_um=wanted.width_um, land_um=wanted.land_um)
    at_pitch = _plan_of(wanted, pitch)
    return Estimate(
        cut_s=wanted.play_s,
        pitch_um=pitch,
        length_m=at_pitch.length_m,
        chip_mg=chip_mg(width_um=wanted.width_um, length_m=at_pitch.length_m),
    )


def spirals_s(speed: str) -> int:
    """About how many seconds of a cut are lead-in and lead-out, and so no music: the least there can be, to the second.

    The lead-in's turns, and a turn each for lead-out and finishing groove.
    """
    return math.ceil((figures().lead_in_turns + 2) * 60 / groove.RPM[speed])
