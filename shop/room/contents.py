"""What is in a cylinder, from its gauge: by a real gas's equation of state, for half the gauge is not half the gas."""

from dataclasses import dataclass, replace
from math import floor

from shop.calc import gas
from shop.room.models import Cylinder, GasUse
from shop.wording import per_cent

#: The gas's temperature where none was read near the gauge (our own choice, said wherever it is used).
ASSUMED_C = 20.0
#: The temperatures a cylinder in a room can have; others are not reckoned with. Upper end: the highest at which a
#: cylinder is referred to in the rules of transport (from memory).
GAS_C = (-40.0, 65.0)
#: The highest gauge that is reckoned with, bar: that of a 300 bar cylinder in a hot room, and some over.
MOST_BAR = 400.0
#: The state at which volumes are told. Never a volume without it: "normal" and "standard" differ by up to 9 %.
REFERENCE_C = 15.0
REFERENCE_BAR = 1.0


@dataclass(frozen=True)
class Contents:
    """mass_kg, full_kg: nitrogen in it now and as delivered; volume_m3: of that mass at the reference; share: of full.

    usable_g: above the shop's reserve; sides_left: whole sides that makes at the shop's own grams a side, None where
    the shop's figure is nought.
    """

    mass_kg: float
    full_kg: float
    volume_m3: float
    share: float
    usable_g: float
    sides_left: int | None


def full_kg(cylinder: Cylinder) -> float:
    """Nitrogen in the cylinder as it was delivered, kg."""
    return gas.nitrogen_mass_kg(cylinder.water_volume_l, cylinder.fill_bar, cylinder.fill_c)


def contents(cylinder: Cylinder, gauge_bar: float, celsius: float, use: GasUse) -> Contents:
    """What is in `cylinder` when its gauge shows `gauge_bar` and its gas has `celsius`."""
    mass = gas.nitrogen_mass_kg(cylinder.water_volume_l, gauge_bar, celsius)
    full = full_kg(cylinder)
    kept = gas.nitrogen_mass_kg(cylinder.water_volume_l, use.reserve_bar, celsius)
    usable_g = max(0.0, 1000 * (mass - kept))
    return Contents(
        mass_kg=mass,
        full_kg=full,
        volume_m3=gas.standard_volume_m3(mass, REFERENCE_C, REFERENCE_BAR),
        share=mass / full,
        usable_g=usable_g,
        sides_left=floor(usable_g / use.side_g) if use.side_g > 0 else None,
    )


def less_sides(holds: Contents, sides: int, use: GasUse) -> Contents:
    """What is left of it once so many sides more were cut, at the shop's own grams a side; never less than nothing."""
    if not sides:
        return holds
    used_g = sides * use.side_g
    mass = max(0.0, holds.mass_kg - used_g / 1000)
    usable_g = max(0.0, holds.usable_g - used_g)
    return replace(
        holds,
        mass_kg=mass,
        volume_m3=gas.standard_volume_m3(mass, REFERENCE_C, REFERENCE_BAR),
        share=mass / holds.full_kg,
        usable_g=usable_g,
        sides_left=floor(usable_g / use.side_g) if use.side_g > 0 else None,
    )


@dataclass(frozen=True)
class Mark:
    """One line of the table that shows what a gauge means: its share of the full gauge, and the share of gas left."""

    gauge_bar: float
    gauge_share: float
    gas_share: float

    @property
    def gauge_percent(self) -> str:
        return per_cent(self.gauge_share)

    @property
    def gas_percent(self) -> str:
        return per_cent(self.gas_share, 1)


def gauge_marks(cylinder: Cylinder, celsius: float) -> list[Mark]:
    """What full, three quarters, half, a quarter and nought on the gauge leave of the gas, at one temperature.

    Full is the gauge the full cylinder shows at that temperature.
    """
    full = full_kg(cylinder)
    full_bar = min(MOST_BAR, gas.gauge_bar_at(full, cylinder.water_volume_l, celsius))
    marks = []
    for part in (1.0, 0.75, 0.5, 0.25, 0.0):
        mass = gas.nitrogen_mass_kg(cylinder.water_volume_l, part * full_bar, celsius)
        marks.append(Mark(gauge_bar=part * full_bar, gauge_share=part, gas_share=mass / full))
    return marks
