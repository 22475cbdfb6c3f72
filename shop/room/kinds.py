"""What is known of each kind of reading: its quantity, where it is read, what can be and what is likely.

The possible ranges are what the thing or its gauge can show at all; outside them a reading is refused. The plausible
ranges and the jumps are our own judgement of a cutting room (no source): outside them the person is asked, and the
shop's own limits are another matter (models.Limit).
"""

from dataclasses import dataclass

from shop.room.contents import MOST_BAR
from shop.room.models import LimitKind, ReadingKind


@dataclass(frozen=True)
class Kind:
    """A kind of reading. All ranges in the stored unit of `quantity`, inclusive.

    key: of ReadingKind or LimitKind; quantity: a kind of shop.calc.units; possible: refused outside; plausible: asked
    about outside; jump: change since the reading before from which it is asked about, None where that is reckoned
    otherwise; place: where it is read; note: how.
    """

    key: str
    name: str
    quantity: str
    possible: tuple[float, float]
    plausible: tuple[float, float]
    jump: float | None
    place: str
    note: str

    @property
    def short(self) -> str:
        """The name inside a sentence."""
        return self.name[0].lower() + self.name[1:]


KINDS: dict[ReadingKind, Kind] = {
    ReadingKind.NITROGEN_BAR: Kind(
        key=ReadingKind.NITROGEN_BAR,
        name="Nitrogen gauge",
        quantity="pressure",
        possible=(0.0, MOST_BAR),
        plausible=(0.0, 350.0),
        jump=None,  # judged by the gas in the cylinder: see gauge.py
        place="Gas cylinder",
        note="The high-pressure gauge, with the cylinder valve open.",
    ),
    ReadingKind.ROOM_C: Kind(
        key=ReadingKind.ROOM_C,
        name="Room temperature",
        quantity="temperature",
        possible=(-40.0, 100.0),
        plausible=(10.0, 35.0),
        jump=8.0,
        place="Beside the lathe",
        note="In the shade, away from the rack and the heater.",
    ),
    ReadingKind.ROOM_RH: Kind(
        key=ReadingKind.ROOM_RH,
        name="Room humidity",
        quantity="humidity",
        possible=(0.0, 100.0),
        plausible=(15.0, 85.0),
        jump=35.0,
        place="Beside the lathe",
        note="From the same instrument as the temperature.",
    ),
    ReadingKind.STORE_C: Kind(
        key=ReadingKind.STORE_C,
        name="Store temperature",
        quantity="temperature",
        possible=(-40.0, 100.0),
        plausible=(5.0, 35.0),
        jump=8.0,
        place="Where the blanks are kept",
        note="Between the boxes, away from outer walls and heaters.",
    ),
    ReadingKind.STORE_RH: Kind(
        key=ReadingKind.STORE_RH,
        name="Store humidity",
        quantity="humidity",
        possible=(0.0, 100.0),
        plausible=(15.0, 85.0),
        jump=35.0,
        place="Where the blanks are kept",
        note="From the same instrument as its temperature.",
    ),
    ReadingKind.HOLD_DOWN_KPA: Kind(
        key=ReadingKind.HOLD_DOWN_KPA,
        name="Hold-down suction",
        quantity="suction",
        possible=(0.0, 105.0),  # there is no more to take away than the air's own pressure
        plausible=(2.0, 95.0),
        jump=20.0,
        place="Platter",
        note="Below room pressure, with a disc on the platter.",
    ),
    ReadingKind.CHIP_KPA: Kind(
        key=ReadingKind.CHIP_KPA,
        name="Chip suction",
        quantity="suction",
        possible=(0.0, 105.0),
        plausible=(0.5, 60.0),
        jump=15.0,
        place="Chip hose",
        note="Below room pressure, at the chip hose with the pump running.",
    ),
    ReadingKind.TRAP_KPA: Kind(
        key=ReadingKind.TRAP_KPA,
        name="Suction at the trap",
        quantity="suction",
        possible=(0.0, 105.0),
        plausible=(1.0, 95.0),
        jump=20.0,
        place="Between trap and filter",
        note="Below room pressure, pump warm, hose open, a disc on the platter.",
    ),
    ReadingKind.PUMP_KPA: Kind(
        key=ReadingKind.PUMP_KPA,
        name="Suction at the pump",
        quantity="suction",
        possible=(0.0, 105.0),
        plausible=(1.0, 98.0),
        jump=20.0,
        place="At the pump's inlet",
        note="Below room pressure, after the filter, under the same conditions as at the trap.",
    ),
    ReadingKind.HEATER_MA: Kind(
        key=ReadingKind.HEATER_MA,
        name="Tip heater current",
        quantity="current",
        possible=(0.0, 5000.0),
        plausible=(50.0, 1500.0),
        jump=300.0,
        place="Head",
        note="At the current used for cutting.",
    ),
}

DEW_POINT = Kind(
    key=LimitKind.DEW_POINT_C,
    name="Dew point",
    quantity="temperature",
    possible=(-45.0, 60.0),  # where the formula of shop.calc.air holds
    plausible=(-5.0, 20.0),
    jump=None,
    place="Beside the lathe",
    note="Reckoned from room temperature and humidity.",
)

#: What the shop sets limits for, in the order of LimitKind.
LIMITED: dict[LimitKind, Kind] = {
    key: DEW_POINT if key == LimitKind.DEW_POINT_C else KINDS[ReadingKind(key)] for key in LimitKind
}
