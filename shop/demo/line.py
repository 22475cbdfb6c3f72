"""The demo room's vacuum line: what it showed when it was clean."""

from datetime import date, timedelta

from shop import clock
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.room import actions as room
from shop.room.models import ReadingKind

#: Baselines were taken so long before the end, from the four weeks before.
BEFORE = timedelta(days=120)
_CONDITIONS = {
    ReadingKind.HOLD_DOWN_KPA: "Pump warm, a 14 inch disc on the platter, hose open.",
    ReadingKind.CHIP_KPA: "Pump warm, hose open at the head, a 14 inch disc on the platter.",
}


def take_baselines(hands: Hands, today: date, *, by: Person) -> None:
    """On one evening, of the two points that are read each morning."""
    if today - clock.today() == BEFORE:
        for kind, conditions in _CONDITIONS.items():
            hands.do(
                room.take_baseline,
                by=by,
                kind=kind,
                since=clock.today() - timedelta(days=28),
                conditions=conditions,
            )
