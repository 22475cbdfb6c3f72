"""Holding a side against its disc: from the shop's records and forms to shop.calc.groove."""

import math
from dataclasses import dataclass

from shop.calc import groove
from shop.calc.groove import SidePlan
from shop.cutting.models import BookingSide

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


def disc(disc_in: int) -> groove.Disc:
    """What a record of that nominal size allows (a value of DiscSize)."""
    return groove.DISCS[disc_in]


def blank_for(disc_in: int) -> int:
    """The blank usually taken for a record of that size, in inches."""
    return groove.DISCS[disc_in].blank_in


def plan(
    *, play_s: int, disc_in: int, speed: str, width_um: float, land_um: float, pitch_um: float | None = None
) -> SidePlan:
    """Plan of so many seconds on a record of that size; see groove.plan_side. ValueError for what no lathe cuts."""
    room = disc(disc_in)
    return groove.plan_side(
        play_s / 60,
        groove.RPM[speed],
        room.outer_mm,
        room.inner_mm,
        width_um,
        land_um,
        pitch_um=pitch_um,
    )


def plan_of(wanted: BookingSide) -> SidePlan:
    """Plan of a booked side, at the pitch that fills its disc."""
    return plan(
        play_s=wanted.play_s,
        disc_in=wanted.disc_in,
        speed=wanted.speed,
        width_um=wanted.width_um,
        land_um=wanted.land_um,
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


def chip_mg(*, width_um: float, length_m: float, tip_radius_um: float = 0.0) -> int:
    """Chip of so many metres of groove, in whole mg; right within half either way."""
    widest_tip = min(tip_radius_um, width_um / 2)
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
    at_pitch = plan(
        play_s=wanted.play_s,
        disc_in=wanted.disc_in,
        speed=wanted.speed,
        width_um=wanted.width_um,
        land_um=wanted.land_um,
        pitch_um=pitch,
    )
    return Estimate(
        cut_s=wanted.play_s,
        pitch_um=pitch,
        length_m=at_pitch.length_m,
        chip_mg=chip_mg(width_um=wanted.width_um, length_m=at_pitch.length_m),
    )
