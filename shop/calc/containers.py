"""An opened container of a liquid: what is in it by its weight, how fast it is used, how long it will last."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.calc.bounds import number
from shop.calc.drift import Estimate, robust_slope

#: Fewer readings of one filling than these tell no pace.
FEWEST = 3
#: A pace is told no further ahead than this, in days.
MOST_DAYS = 3660.0


def ml_by_weight(gross_g: float, tare_g: float, density_kg_m3: float) -> float:
    """The volume in ml of what weighs gross_g with its container and cap, which alone weigh tare_g.

    density_kg_m3: of the liquid at its temperature; kg/m3 are g/l. Air's buoyancy is left out: it lifts a liquid of
    800 kg/m3 by 1.2/800, some 0.15 %. ValueError where it weighs less than its container.
    """
    tare = number("tare_g", tare_g, at_least=0, at_most=1e6)
    gross = number("gross_g", gross_g, at_least=tare, at_most=1e6)
    density = number("density_kg_m3", density_kg_m3, at_least=300, at_most=20_000)
    return 1000 * (gross - tare) / density


@dataclass(frozen=True)
class Pace:
    """How fast it is used. a_day: ml a day with its interval; readings: how many that rests on, over so many days."""

    a_day: Estimate
    readings: int
    days: float


def pace(levels: Sequence[tuple[float, float]], *, rise_ml: float = 1.0, level: float = 0.9) -> Pace | None:
    """How fast a container is used, from (days, ml) in the order of time.

    A robust slope (Theil and Sen; `drift.robust_slope`): one misread level does not move it. Where a level rises by
    more than rise_ml it was topped up, and the readings after are not held against those before. None with fewer than
    FEWEST readings in every stretch.
    """
    runs: list[list[tuple[float, float]]] = []
    for day, ml in levels:
        day, ml = number("day", day, at_least=-1e6, at_most=1e6), number("ml", ml, at_least=0, at_most=1e9)
        if not runs or ml > runs[-1][-1][1] + rise_ml:
            runs.append([])
        runs[-1].append((day, ml))
    told = [run for run in runs if len(run) >= FEWEST]
    slope = robust_slope(told, level) if told else None
    if slope is None:
        return None
    used = Estimate(max(0.0, -slope.high), max(0.0, -slope.middle), max(0.0, -slope.low))
    return Pace(used, sum(map(len, told)), sum(run[-1][0] - run[0][0] for run in told))


def lasts_days(left_ml: float, used: Pace) -> tuple[float, float | None, float | None]:
    """In how many days it will be empty: at the soonest, about, at the latest. None for no end within MOST_DAYS."""
    left = number("left_ml", left_ml, at_least=0, at_most=1e9)

    def days(a_day: float) -> float | None:
        return left / a_day if a_day > 0 and left / a_day <= MOST_DAYS else None

    soonest = days(used.a_day.high)
    return (MOST_DAYS if soonest is None else soonest, days(used.a_day.middle), days(used.a_day.low))
