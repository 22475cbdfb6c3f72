"""What an instrument sent, what became of it, and the words in which it is told why."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from shop.calc import units
from shop.room.kinds import KINDS
from shop.room.models import ReadingKind

#: Why a reading is not kept, by the code an instrument is told.
REASONS = {
    "shape": "It is not written as a reading.",
    "kind": "It may not write that kind.",
    "time": "Its moment cannot be read.",
    "future": "It lies in the future.",
    "old": "It lies too far back.",
    "value": "Its value is no number.",
    "unit": "Its unit is another one, or seems to be.",
    "impossible": "Such a thing cannot read that.",
    "cylinder": "No cylinder was connected then.",
    "gauge": "That cylinder cannot show it.",
    "fell": "It fell further than use explains, and has not stayed there long enough to be believed.",
    "differs": "Another value is kept for that moment.",
}


@dataclass(frozen=True)
class Sent:
    """A reading as it was sent, once it could be read: the number in the unit it names (a key of calc.units)."""

    kind: ReadingKind
    at: datetime
    number: float
    unit: str


@dataclass(frozen=True)
class Wrong:
    """One that could not even be read. code: of REASONS; kind: "" where it named none of ours."""

    code: str
    reason: str
    kind: str = ""
    at: datetime | None = None


@dataclass(frozen=True)
class Outcome:
    """What became of one: "kept", "known" (it was kept before), or "refused", with code and reason. since: of one
    that fell, from when on it has stood there."""

    what: Literal["kept", "known", "refused"]
    code: str = ""
    reason: str = ""
    since: datetime | None = None


KEPT, KNOWN = Outcome("kept"), Outcome("known")


def refused(code: str, reason: str) -> Outcome:
    return Outcome("refused", code, reason)


def stored(one: Sent) -> float | None:
    try:
        return units.to_stored(KINDS[one.kind].quantity, one.number, one.unit)
    except ValueError:
        return None


def shown(kind: ReadingKind, value: float) -> str:
    """A stored value in the stored unit, for an instrument has no preference."""
    quantity = KINDS[kind].quantity
    return units.show(quantity, value, units.default_unit(quantity))


def as_sent(one: Sent) -> str:
    """The number with its unit, as it was sent: of 0.43 mA rounding would leave nothing."""
    figure = f"{one.number:.6g}".replace("-", "\u2212")
    return f"{figure}\u00a0{units.label(KINDS[one.kind].quantity, one.unit)}"


def meant(quantity: str, one: Sent, fits: Callable[[float], bool]) -> tuple[str, float]:
    """ " Was 71 °F meant? ..." and its stored value, where the same number in another unit would do; else "" and 0."""
    if quantity == "humidity" and 0 < one.number <= 1 and fits(100 * one.number):
        return f" Was {100 * one.number:.6g}\u00a0% meant? It seems to be sent as a share of 1.", 100 * one.number
    for other in units.UNITS[quantity]:
        if other == one.unit or units.unit_of(quantity, other).is_rare:
            continue
        try:
            value = units.to_stored(quantity, one.number, other)
        except ValueError:
            continue
        if fits(value):
            said = as_sent(Sent(one.kind, one.at, one.number, other))
            return f" Was {said} meant? It was sent as {units.label(quantity, one.unit)}.", value
    return "", 0.0
