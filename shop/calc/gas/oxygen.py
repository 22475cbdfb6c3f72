"""What nitrogen let out does to the air of a room.

Nitrogen gives no warning: no smell, no breathlessness. These are estimates for planning. All of them take the air as
well mixed, and it is worse near the leak; none of them replaces an oxygen monitor.
"""

import math
from typing import Literal

from shop.calc.bounds import number

#: Oxygen in dry air, percent by volume, as rounded in most rules.
AIR_OXYGEN = 20.9
#: Below it air is short of oxygen: 29 CFR 1910.134(d)(2)(iii), which treats it as dangerous to life at once.
SHORT_OF_OXYGEN = 19.5
#: At it one leaves: practice of an industrial gas association, told on two universities' pages, one of which says 19.
LEAVE_AT = 18.0

#: How the gas meets the air: it pushes air out and stays ("displaced", the most cautious); it mixes while mixed air
#: leaves ("mixed_escaping"); it is all added to a sealed room and then mixes ("added_then_mixed").
Mixing = Literal["displaced", "mixed_escaping", "added_then_mixed"]
MIXINGS: tuple[Mixing, ...] = ("displaced", "mixed_escaping", "added_then_mixed")


def _mixing(model: str) -> None:
    if model not in MIXINGS:
        raise ValueError(f"model must be one of {', '.join(MIXINGS)}, not {str(model)[:30]!r}.")


def _room(value: object) -> float:
    return number("room_m3", value, above=0, at_most=1_000_000)


def _start(value: object) -> float:
    return number("start_percent", value, at_least=1, at_most=25)


def oxygen_after_release(
    room_m3: float,
    released_m3: float,
    model: Mixing,
    start_percent: float = AIR_OXYGEN,
) -> float:
    """Oxygen in percent by volume after so much nitrogen (at room temperature and pressure) came into a room.

    room_m3 is free volume, furniture taken out. No ventilation. With V the room and G the gas, times start_percent:
    displaced (V - G)/V, not below 0 (Univ. Nottingham's calculator; Univ. Oxford policy S4/03 app. 1);
    mixed_escaping exp(-G/V); added_then_mixed V/(V + G) (the last two from memory, checked as a balance).
    """
    _mixing(model)
    room, start = _room(room_m3), _start(start_percent)
    gas = number("released_m3", released_m3, at_least=0, at_most=1_000_000)
    if model == "displaced":
        return start * max(0.0, (room - gas) / room)
    if model == "mixed_escaping":
        return start * math.exp(-gas / room)
    return start * room / (room + gas)


def smallest_room_m3(
    released_m3: float,
    keep_percent: float,
    model: Mixing,
    start_percent: float = AIR_OXYGEN,
) -> float:
    """Smallest free volume in m3 in which a release leaves at least keep_percent of oxygen, by the same formulas."""
    _mixing(model)
    start = _start(start_percent)
    gas = number("released_m3", released_m3, at_least=0, at_most=1_000_000)
    keep = number("keep_percent", keep_percent, above=0, at_most=start - 1e-6)
    if model == "displaced":
        return gas / (1 - keep / start)
    if model == "mixed_escaping":
        return gas / math.log(start / keep)
    return gas / (start / keep - 1)


def _hours(value: object) -> float | None:
    return None if value is None else number("hours", value, at_least=0, at_most=1_000_000)


def oxygen_extracted(
    room_m3: float,
    release_m3_h: float,
    extract_m3_h: float,
    hours: float | None = None,
    start_percent: float = AIR_OXYGEN,
) -> float:
    """Oxygen in percent while nitrogen flows in and a fan draws mixed air out; fresh air makes up the rest.

    start [1 - (R/Q)(1 - exp(-Q t/V))], steady for hours None. The fan must draw more than the release:
    ValueError otherwise. Steady form: Univ. Oxford S4/03 app. 1; time form from memory, checked as an equation of
    balance.
    """
    room, start = _room(room_m3), _start(start_percent)
    release = number("release_m3_h", release_m3_h, at_least=0, at_most=1_000_000)
    extract = number("extract_m3_h", extract_m3_h, above=release, at_most=1_000_000)
    time = _hours(hours)
    reached = 1.0 if time is None else -math.expm1(-extract * time / room)
    return start * (1 - release / extract * reached)


def oxygen_supplied(
    room_m3: float,
    release_m3_h: float,
    supply_m3_h: float,
    hours: float | None = None,
    start_percent: float = AIR_OXYGEN,
) -> float:
    """Oxygen in percent while nitrogen flows in and a fan blows fresh air in; mixed air leaves by itself.

    start/(Q + R) [Q + R exp(-(Q + R) t/V)], steady for hours None; with no supply the steady answer is 0 if anything
    is released. From memory, checked as an equation of balance.
    """
    room, start = _room(room_m3), _start(start_percent)
    release = number("release_m3_h", release_m3_h, at_least=0, at_most=1_000_000)
    supply = number("supply_m3_h", supply_m3_h, at_least=0, at_most=1_000_000)
    time = _hours(hours)
    through = supply + release
    if through <= 0:
        return start
    left = 0.0 if time is None else math.exp(-through * time / room)
    return start * (supply / through + release / through * left)


def largest_release_m3_h(extract_m3_h: float, keep_percent: float, start_percent: float = AIR_OXYGEN) -> float:
    """Largest steady flow of nitrogen in m3/h that an extracting fan keeps at keep_percent of oxygen or above."""
    start = _start(start_percent)
    extract = number("extract_m3_h", extract_m3_h, at_least=0, at_most=1_000_000)
    keep = number("keep_percent", keep_percent, at_least=0, at_most=start)
    return extract * (1 - keep / start)


def largest_release_supplied_m3_h(supply_m3_h: float, keep_percent: float, start_percent: float = AIR_OXYGEN) -> float:
    """Largest steady flow of nitrogen in m3/h at which a fan that blows fresh air in keeps keep_percent or above.

    From the steady form start Q/(Q + R): R = Q (start/keep - 1).
    """
    start = _start(start_percent)
    supply = number("supply_m3_h", supply_m3_h, at_least=0, at_most=1_000_000)
    keep = number("keep_percent", keep_percent, at_least=0.001, at_most=start)
    return supply * (start / keep - 1)


def _or_never(found: float) -> float | None:
    """None for what a flow next to nothing would take: longer than a number can say."""
    return found if math.isfinite(found) else None


def hours_until_oxygen(
    keep_percent: float,
    room_m3: float,
    release_m3_h: float,
    supply_m3_h: float,
    start_percent: float = AIR_OXYGEN,
) -> float | None:
    """Hours after which a steady flow of nitrogen has brought the room down to keep_percent of oxygen; None for never.

    The inverse of `oxygen_supplied`: fresh air is blown in (0 for none), mixed air leaves by itself.
    """
    room, start = _room(room_m3), _start(start_percent)
    release = number("release_m3_h", release_m3_h, at_least=0, at_most=1_000_000)
    supply = number("supply_m3_h", supply_m3_h, at_least=0, at_most=1_000_000)
    keep = number("keep_percent", keep_percent, at_least=0.001, at_most=start)
    if keep == start:
        return 0.0
    through = supply + release
    if release == 0:
        return None
    # of what the flow has still to do; so written that the smallest flows do not round it away
    left = keep / start - (1 - keep / start) * (supply / release)
    return _or_never(-math.log(left) * room / through) if left > 0 else None


def hours_until_oxygen_extracted(
    keep_percent: float,
    room_m3: float,
    release_m3_h: float,
    extract_m3_h: float,
    start_percent: float = AIR_OXYGEN,
) -> float | None:
    """The same while a fan draws mixed air out, fresh air making up the rest: the inverse of `oxygen_extracted`.

    Where no more is drawn out than flows in, no fresh air comes in at all, and it is as without a fan. For the same
    flow of air it is always sooner than `hours_until_oxygen`: the nitrogen takes the place of fresh air.
    """
    room, start = _room(room_m3), _start(start_percent)
    release = number("release_m3_h", release_m3_h, at_least=0, at_most=1_000_000)
    extract = number("extract_m3_h", extract_m3_h, at_least=0, at_most=1_000_000)
    keep = number("keep_percent", keep_percent, at_least=0.001, at_most=start)
    if extract <= release:
        return hours_until_oxygen(keep, room, release, 0, start)
    if keep == start:
        return 0.0
    if release == 0:
        return None
    left = 1 - (1 - keep / start) * extract / release  # of what the flow has still to do
    return _or_never(-math.log(left) * room / extract) if left > 0 else None
