"""The demo room's chip after the trap: two cans in the last months, one of them gone."""

from dataclasses import dataclass
from datetime import date, timedelta

from shop import clock
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.room import actions as room
from shop.room.models import ChipCan
from shop.room.queries.chip import to_store

#: So many days before the end the first can is started, and the first goes for the second.
FIRST, SECOND = timedelta(days=95), timedelta(days=24)


@dataclass
class Chip:
    hands: Hands
    today: date
    can: ChipCan | None = None
    count: int = 0

    def evening(self, *, by: Person) -> None:
        """Whatever was emptied from the trap is wetted and put into the can."""
        left = self.today - clock.today()
        if self.can is None and left <= FIRST:
            self._start(by)
        elif self.count == 1 and left <= SECOND:
            self.hands.do(
                room.hand_over_chip, by=by, can=self.can, taken_by="Harbour Street Waste", papers="Receipt 0417"
            )
            self._start(by)
        waits = to_store()
        if self.can is not None and waits.times:
            self.hands.do(room.store_chip, by=by, can=self.can, grams=waits.holds.g, wetted=True)

    def _start(self, by: Person) -> None:
        self.count += 1
        self.can = self.hands.do(
            room.start_chip_can,
            by=by,
            mark=f"Chip can {self.count}",
            where="In the yard, in the shade, under the lean-to",
            limit_g=250,
            limit_days=90,
        )
