"""What if: oxygen after a cylinder let go or leaks, vapour from wiping and from a spill. Estimates, nothing is kept.

Every figure here takes the air as well mixed; near the leak or the spill it is worse, and none replaces a monitor.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.calc import air, gas
from shop.safety.models import ExposureLimit, LimitKind

#: The longest that a leak is drawn for, in hours.
LONGEST_H = 168.0
#: A tenth of the lower explosive limit: NIOSH's dangerous-at-once values of both solvents are set by it.
TENTH = 0.1


@dataclass(frozen=True)
class Formula:
    """A formula as it stands on the page, and where it is from."""

    name: str
    text: str
    source: str


_BALANCE = "the balance of oxygen in the room's air, checked by solving it numerically; no publication of it was read"
RELEASE: dict[gas.Mixing, Formula] = {
    "displaced": Formula(
        "Displacement, the most cautious",
        "oxygen = 20.9\u00a0% × (V − G) / V",
        "University of Nottingham, calculators for gas releases; University of Oxford, safety policy S4/03, appendix 1",
    ),
    "mixed_escaping": Formula("Mixed while it escapes", "oxygen = 20.9\u00a0% × exp(−G / V)", _BALANCE),
    "added_then_mixed": Formula(
        "Let in and then mixed, nothing leaving", "oxygen = 20.9\u00a0% × V / (V + G)", _BALANCE
    ),
}
SUPPLIED = Formula(
    "Leak, fresh air blown in",
    "oxygen = 20.9\u00a0% / (Q + R) × [Q + R exp(−(Q + R) t / V)], in the end 20.9\u00a0% × Q / (Q + R)",
    _BALANCE,
)
EXTRACTED = Formula(
    "Leak, room air drawn out",
    "oxygen = 20.9\u00a0% × [1 − R / Q × (1 − exp(−Q t / V))], in the end 20.9\u00a0% × (1 − R / Q)",
    "University of Oxford, safety policy S4/03, appendix 1, for the end; over time " + _BALANCE,
)
CONTENTS = Formula(
    "What is in the cylinder",
    "real gas, from water volume, gauge and temperature",
    "Span and others, J. Phys. Chem. Ref. Data 29, 1361 (2000), by CoolProp",
)
BOX = Formula(
    "The room as a box",
    "C = G / (K Q) × [1 − exp(−K Q t / V)]",
    "Basic Concepts of Industrial Hygiene, p. 163; University of Toledo's formula sheet",
)
SPILT = Formula(
    "All of it evaporated",
    "share of the air = mass / molar mass × molar volume / V",
    "ideal gas at 1 atm",
)


@dataclass(frozen=True)
class Asked:
    """What is tried. air_changes_h: 0 for a closed room; mixing: the share of the fresh air that counts, at most 1."""

    room_m3: float
    air_changes_h: float
    water_l: float
    gauge_bar: float
    celsius: float
    leak_l_min: float
    solvent: str
    wipe_ml: float
    wipes: int
    spill_ml: float
    mixing: float

    @property
    def air_m3_h(self) -> float:
        return self.air_changes_h * self.room_m3

    @property
    def leak_m3_h(self) -> float:
        return self.leak_l_min * 60 / 1000

    @property
    def fresh_m3_h(self) -> float:
        """What of the fresh air counts."""
        return self.mixing * self.air_m3_h


@dataclass(frozen=True)
class Let:
    """Oxygen by one formula after all was let go, and the smallest room that would keep 19.5 %."""

    formula: Formula
    percent: float
    smallest_m3: float

    @property
    def is_short(self) -> bool:
        return self.percent < gas.SHORT_OF_OXYGEN


@dataclass(frozen=True)
class Release:
    """A full cylinder let go. gas_m3: at the room's temperature and 1 atm."""

    kg: float
    gas_m3: float
    by: tuple[Let, ...]

    @property
    def worst(self) -> Let:
        return min(self.by, key=lambda one: one.percent)


def release(room_m3: float, water_l: float, gauge_bar: float, celsius: float, room_c: float) -> Release:
    """A cylinder's nitrogen let into a room all at once. celsius: of the gauge's reading; room_c: of the room."""
    kg = gas.nitrogen_mass_kg(water_l, gauge_bar, celsius)
    gas_m3 = gas_m3_of(kg, room_c)
    return Release(kg=kg, gas_m3=gas_m3, by=let_go(room_m3, gas_m3))


def gas_m3_of(kg: float, room_c: float) -> float:
    """What so much nitrogen fills as gas at the room's temperature and 1 atm."""
    return gas.standard_volume_m3(kg, room_c, gas.ATM_BAR)


def let_go(room_m3: float, gas_m3: float) -> tuple[Let, ...]:
    """By each formula, the most cautious first."""
    return tuple(
        Let(
            formula,
            gas.oxygen_after_release(room_m3, gas_m3, model),
            gas.smallest_room_m3(gas_m3, gas.SHORT_OF_OXYGEN, model),
        )
        for model, formula in RELEASE.items()
    )


@dataclass(frozen=True)
class Leak:
    """A steady leak. lasts_h: until the cylinder is empty; lowest: oxygen by then; the ends are None without a fan.

    Nobody wrote down whether a fan blows air in or draws it out, so lowest, course and the hours until it is short are
    those with room air drawn out: oxygen is then lower at every moment. most_...: the largest leak in l/min that keeps
    19.5 % for good, by each form. course: hours and oxygen.
    """

    lasts_h: float
    lowest: float
    supplied_end: float | None
    extracted_end: float | None
    short_after_h: float | None
    leave_after_h: float | None
    most_supplied_l_min: float
    most_extracted_l_min: float
    course: tuple[tuple[float, float], ...]

    @property
    def is_short(self) -> bool:
        return self.short_after_h is not None


def leak(asked: Asked, held_m3: float) -> Leak | None:
    """A leak of so much for as long as the cylinder lasts. None where nothing leaks."""
    rate, fresh = asked.leak_m3_h, asked.fresh_m3_h
    if rate <= 0:
        return None
    lasts = held_m3 / rate

    def reached(percent: float) -> float | None:
        """Hours until oxygen is down to so much, if it gets there before the cylinder is empty."""
        hours = gas.hours_until_oxygen_extracted(percent, asked.room_m3, rate, fresh)
        return hours if hours is not None and hours <= lasts else None

    def oxygen(hours: float) -> float:
        """With room air drawn out; where less is drawn out than leaks in, no fresh air comes in at all."""
        if fresh <= rate:
            return gas.oxygen_supplied(asked.room_m3, rate, 0, hours)
        return gas.oxygen_extracted(asked.room_m3, rate, fresh, hours)

    span = min(lasts, LONGEST_H)
    hours = [span * step / 48 for step in range(49)]
    # a fan that draws out less than leaks in does not clear the room at all
    drawn = gas.oxygen_extracted(asked.room_m3, rate, fresh) if fresh > rate else 0.0
    return Leak(
        lasts_h=lasts,
        lowest=oxygen(min(lasts, 1_000_000.0)),
        supplied_end=gas.oxygen_supplied(asked.room_m3, rate, fresh) if fresh > 0 else None,
        extracted_end=drawn if fresh > 0 else None,
        short_after_h=reached(gas.SHORT_OF_OXYGEN),
        leave_after_h=reached(gas.LEAVE_AT),
        most_supplied_l_min=gas.largest_release_supplied_m3_h(fresh, gas.SHORT_OF_OXYGEN) * 1000 / 60,
        most_extracted_l_min=gas.largest_release_m3_h(fresh, gas.SHORT_OF_OXYGEN) * 1000 / 60,
        course=tuple((hour, oxygen(hour)) for hour in hours),
    )


@dataclass(frozen=True)
class Against:
    """An exposure limit and the estimates to hold against it, in ppm; None where the limit is not meant for it."""

    limit: ExposureLimit
    ppm: float
    wiping: float
    spilt: float | None

    @property
    def is_wiping_over(self) -> bool:
        return self.wiping > self.ppm

    @property
    def is_spilt_over(self) -> bool:
        return self.spilt is not None and self.spilt > self.ppm

    @property
    def is_over(self) -> bool:
        return self.is_wiping_over or self.is_spilt_over


@dataclass(frozen=True)
class Vapour:
    """A solvent in the room. full_percent: right over the liquid; tenth_ml: what brings the room to a tenth of the LEL.

    pressure_pa, full_percent: None outside of the temperatures for which constants are kept. course: hours after the
    spill and ppm.
    """

    figures: air.Solvent
    pressure_pa: float | None
    pressure_source: str
    full_percent: float | None
    wipes: air.Wipes
    spill: air.Spill
    tenth_ml: float
    tenth_ppm: float
    against: tuple[Against, ...]
    course: tuple[tuple[float, float], ...]

    @property
    def known_c(self) -> list[float]:
        """The lowest and the highest temperature of the first constants kept, those for a room."""
        first = self.figures.antoine[0]
        return [first.low_k - 273.15, first.high_k - 273.15]

    @property
    def is_spill_over_tenth(self) -> bool:
        return self.spill.of_lel > TENTH

    @property
    def is_over(self) -> bool:
        return self.is_spill_over_tenth or any(one.is_over for one in self.against)


def vapour(asked: Asked, limits: Iterable[ExposureLimit]) -> Vapour:
    """Vapour from the usual wiping and from a spill, against limits and a tenth of the lower explosive limit."""
    figures = air.solvent(asked.solvent)
    pressure, source = _pressure(figures, asked.celsius)
    most = {} if pressure is None else {"full_pa": pressure}
    spilt = air.spill(asked.spill_ml, asked.room_m3, figures, asked.celsius, **most)
    wiped = air.wipes(
        asked.wipe_ml, asked.wipes, asked.room_m3, asked.air_m3_h, figures, asked.celsius, mixing=asked.mixing
    )
    tenth_g = air.grams_at_fraction_of_lel(
        TENTH, asked.room_m3, figures.molar_mass_g_mol, figures.lel_percent, asked.celsius
    )
    hours = [4 * step / 48 for step in range(49)]
    start = spilt.mg_m3 / 1000
    fresh = {"air_m3_h": asked.air_m3_h, "room_m3": asked.room_m3, "mixing": asked.mixing}
    left = [air.room_concentration(0, hours=hour, start_g_m3=start, **fresh) for hour in hours]
    share = 1.0 if start == 0 else spilt.ppm / start
    return Vapour(
        figures=figures,
        pressure_pa=pressure,
        pressure_source=source,
        full_percent=None if pressure is None else air.saturated_percent(figures.name, asked.celsius),
        wipes=wiped,
        spill=spilt,
        tenth_ml=tenth_g / figures.density_g_ml,
        tenth_ppm=TENTH * figures.lel_percent * 10_000,
        against=tuple(_against(limits, figures, asked.celsius, wiped, spilt)),
        course=tuple((hour, share * grams) for hour, grams in zip(hours, left, strict=True)),
    )


def _pressure(figures: air.Solvent, celsius: float) -> tuple[float | None, str]:
    """Its vapour pressure in Pa and whose constants gave it; None outside their range."""
    try:
        pressure = air.vapour_pressure_pa(figures.name, celsius)
    except ValueError:
        return None, ""
    kelvin = celsius + 273.15
    return pressure, next(one.source for one in figures.antoine if one.low_k <= kelvin <= one.high_k)


def _against(
    limits: Iterable[ExposureLimit], figures: air.Solvent, celsius: float, wiped: air.Wipes, spilt: air.Spill
) -> Iterable[Against]:
    for limit in limits:
        if not limit.in_force:
            continue
        ppm = limit.ppm
        if ppm is None:  # printed in mg/m3 alone
            assert limit.mg_m3 is not None
            ppm = air.ppm_from_mg_m3(limit.mg_m3, figures.molar_mass_g_mol)
        if limit.kind == LimitKind.TWA:
            yield Against(limit, ppm, wiped.shift_ppm, None)
        else:
            yield Against(limit, ppm, wiped.peak_ppm, spilt.ppm)


@dataclass(frozen=True)
class Estimate:
    """All of it."""

    asked: Asked
    release: Release
    leak: Leak | None
    vapour: Vapour


def estimate(asked: Asked, limits: Iterable[ExposureLimit]) -> Estimate:
    """Everything that the page tells. ValueError for figures that the calculations do not take."""
    let = release(asked.room_m3, asked.water_l, asked.gauge_bar, asked.celsius, asked.celsius)
    return Estimate(asked, let, leak(asked, let.gas_m3), vapour(asked, limits))
