"""What looks wrong about a gauge reading, judged by the gas that can be in that cylinder."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from shop.calc import gas
from shop.calc.gas import GasLoss
from shop.people.models import Units
from shop.refusal import Doubt
from shop.room.contents import ASSUMED_C, MOST_BAR, full_kg
from shop.room.models import Cylinder, Reading
from shop.room.wording import kg_words, said, sides_words, unit_slip, when

#: What a dial and the eye before it may be off by, bar: our own judgement.
READ_WITHIN_BAR = 2.0
#: The share of a full cylinder that may go before it is asked about, at once and for each day since, where nothing
#: tells better (what an instrument sends, the first reading of a cylinder): our own judgement.
MAY_GO, MAY_GO_A_DAY = 0.15, 0.10


#: Given what the gauge is said to show: the loss that this would be, by the sides cut since; None for none.
Losing = Callable[[float], GasLoss | None]


@dataclass(frozen=True)
class Before:
    """The gauge before this reading: a reading of it, or (reading None) the cylinder as it was delivered full."""

    reading: Reading | None
    gauge_bar: float
    celsius: float | None
    at: datetime | None


def before_of(cylinder: Cylinder, reading: Reading | None, celsius: float | None) -> Before:
    """celsius: read near that earlier reading, or None; one read with it, beside the cylinder, goes before."""
    if reading is None:
        return Before(reading=None, gauge_bar=cylinder.fill_bar, celsius=cylinder.fill_c, at=cylinder.connected_at)
    warm = celsius if reading.beside_c is None else reading.beside_c
    return Before(reading=reading, gauge_bar=reading.value, celsius=warm, at=reading.at)


def gauge_doubts(
    *,
    cylinder: Cylinder,
    gauge_bar: float,
    celsius: float | None,
    at: datetime,
    before: Before,
    reader: Units,
    field: str,
    losing: Losing | None = None,
) -> list[Doubt]:
    """Above the service pressure; risen more than warming explains; fallen further than use explains.

    celsius: of the gas, read near this reading, or None: then the temperature before it, or ASSUMED_C, is taken and
    no warming reckoned with. losing: None where the sides cut since the reading before are not known. Whether
    another unit was meant is judged by a day's work all the same, so that both can be asked.
    """
    litres = cylinder.water_volume_l
    now_c = celsius if celsius is not None else before.celsius
    now_c = ASSUMED_C if now_c is None else now_c
    then_c = now_c if before.celsius is None else before.celsius
    then_kg = gas.nitrogen_mass_kg(litres, before.gauge_bar, then_c)
    expected = gas.gauge_bar_at(then_kg, litres, now_c)

    def say(bar: float) -> str:
        return said("pressure", bar, reader)

    def doubt(what: str, sentence: str) -> Doubt:
        slip = unit_slip(
            "pressure",
            gauge_bar,
            reader,
            lambda bar: _likely(cylinder, bar, expected, then_kg, now_c, at, before, None),
        )
        return Doubt(key=f"{field}:{what}:{gauge_bar:g}", field=field, sentence=f"{sentence} {slip}".strip())

    service_now = _service_at(cylinder, now_c)
    if gauge_bar > service_now:
        warm = f", or {say(service_now)} at {said('temperature', now_c, reader)}" if now_c > cylinder.fill_c else ""
        return [
            doubt(
                "above-service",
                f"{say(gauge_bar)} is above the service pressure of cylinder {cylinder.mark}: "
                f"{say(cylinder.service_bar)}{warm}. Read the gauge again.",
            )
        ]
    if gauge_bar > expected + READ_WITHIN_BAR:
        return [doubt("rose", _rose(cylinder, gauge_bar, expected, now_c, then_c, before, reader))]
    if not _likely(cylinder, gauge_bar, expected, then_kg, now_c, at, before, losing):
        since = f"than {when(before.reading)}" if before.reading else "than a full cylinder shows"
        same_gas = ""
        if _differ(now_c, then_c):
            same_gas = f"; with the same gas in it {say(expected)} at {said('temperature', now_c, reader)}"
        return [
            doubt(
                "fell",
                f"{say(gauge_bar)} is much less {since} ({say(before.gauge_bar)}{same_gas})"
                f"{_lost_words(losing, gauge_bar)}. Read it again; if it is right, look for a leak.",
            )
        ]
    return []


def more_words(
    cylinder: Cylinder,
    gauge_bar: float,
    celsius: float | None,
    later: Reading,
    later_c: float | None,
    reader: Units,
) -> str:
    """What a later reading of the gauge says against this one: that more gas was in it; "" if nothing.

    celsius, later_c: of the gas at this reading and the later; with one of them None no warming is reckoned with.
    """
    now_c = celsius if celsius is not None else later_c
    now_c = ASSUMED_C if now_c is None else now_c
    then_c = now_c if later_c is None else later_c
    litres = cylinder.water_volume_l
    if not 0 <= gauge_bar <= MOST_BAR:
        return ""
    expected = gas.gauge_bar_at(gas.nitrogen_mass_kg(litres, gauge_bar, now_c), litres, then_c)
    if later.value <= expected + READ_WITHIN_BAR:
        return ""
    warmed = ""
    if _differ(now_c, then_c):
        at = said("temperature", then_c, reader)
        warmed = f", which that gas would show as {said('pressure', expected, reader)} at {at},"
    return (
        f"{said('pressure', gauge_bar, reader)}{warmed} is less than the gauge showed after that: "
        f"{said('pressure', later.value, reader)} {when(later)}. No gas comes back by itself, so one of the two "
        "readings, or the time of this one, is wrong."
    )


def _lost_words(losing: Losing | None, gauge_bar: float) -> str:
    """How much went and what sides took of it: ": 2.0 kg of nitrogen went, and no side was cut since"."""
    lost = losing(gauge_bar) if losing is not None else None
    if lost is None:
        return ""
    return f": {kg_words(lost.gone_g)} of nitrogen went, and {sides_words(lost.sides, lost.used_g, 'since')}"


def _differ(now_c: float, then_c: float) -> bool:
    """Whether two temperatures differ by enough to be told."""
    return abs(now_c - then_c) >= 0.5


def _service_at(cylinder: Cylinder, celsius: float) -> float:
    """What the gauge may show at `celsius` of a cylinder filled to its service pressure at its fill temperature, bar.

    Never under the service pressure itself: a cold gauge gives no cause to ask.
    """
    if celsius <= cylinder.fill_c:
        return cylinder.service_bar
    at_service_kg = gas.nitrogen_mass_kg(cylinder.water_volume_l, cylinder.service_bar, cylinder.fill_c)
    return gas.gauge_bar_at(at_service_kg, cylinder.water_volume_l, celsius)


def _likely(
    cylinder: Cylinder,
    gauge_bar: float,
    expected: float,
    then_kg: float,
    celsius: float,
    at: datetime,
    before: Before,
    losing: Losing | None,
) -> bool:
    """Whether the gauge neither rose beyond its reading error nor fell further than use explains."""
    if not 0 <= gauge_bar <= min(expected + READ_WITHIN_BAR, MOST_BAR):
        return False
    if losing is not None:
        return losing(gauge_bar) is None
    gone = then_kg - gas.nitrogen_mass_kg(cylinder.water_volume_l, gauge_bar, celsius)
    days = max(0.0, (at - before.at).total_seconds() / 86400) if before.at else 0.0
    return gone <= (MAY_GO + MAY_GO_A_DAY * days) * full_kg(cylinder)


def _rose(
    cylinder: Cylinder,
    gauge_bar: float,
    expected: float,
    now_c: float,
    then_c: float,
    before: Before,
    reader: Units,
) -> str:
    def say(bar: float) -> str:
        return said("pressure", bar, reader)

    if before.reading is None:
        return (
            f"{say(gauge_bar)} is more than cylinder {cylinder.mark} shows when full: {say(expected)} at "
            f"{said('temperature', now_c, reader)}."
        )
    at = said("temperature", now_c, reader)
    stood = f"The gauge stood at {say(before.gauge_bar)} {when(before.reading)}"
    if _differ(now_c, then_c) and now_c < then_c:
        fact = (
            f"{stood}. Cooling from {said('temperature', then_c, reader)} to {at} leaves {say(expected)} of that, "
            f"and {say(gauge_bar)} is more; it does not rise by itself."
        )
    else:
        warming = f"; warming to {at} explains {say(expected)}" if _differ(now_c, then_c) else ""
        fact = f"{stood} and does not rise by itself to {say(gauge_bar)}{warming}."
    return f"{fact} If the cylinder was changed, connect the new one first."
