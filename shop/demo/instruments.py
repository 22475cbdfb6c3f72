"""The demo room's one instrument that reports by itself: a logger on the shelf by the lathe."""

from datetime import datetime, timedelta
from math import sin, tau
from random import Random

from shop import clock
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.people.secrets import new_secret
from shop.room import actions as room
from shop.room.intake import take_in
from shop.room.models import ReadingKind
from shop.room.queries import latest
from shop.room.sent import Sent

#: What it remembers, and sends in one go.
DAYS, EVERY = 5, timedelta(minutes=10)


def log_the_air(hands: Hands, *, owner: Person) -> None:
    """Takes the logger on, and lets it send what it read in the last days: around what was read by eye."""
    now = clock.now()
    logger = hands.do(
        room.add_instrument,
        by=owner,
        secret=new_secret(),
        name="Shelf logger",
        kinds=[ReadingKind.ROOM_C, ReadingKind.ROOM_RH],
        every_min=24 * 60,
        note="On the shelf by the lathe. Sends its day every evening.",
    )
    warm, damp = (found.value if (found := latest(kind)) else usual for kind, usual in _USUAL)
    rng = Random(hands.rng.random())
    steps = int(timedelta(days=DAYS) / EVERY)
    moments = [now - EVERY * step for step in range(steps)]
    take_in(logger, [one for at in moments for one in _air(at, warm, min(damp, 55.0), rng)])


_USUAL = ((ReadingKind.ROOM_C, 21.0), (ReadingKind.ROOM_RH, 45.0))


def _air(at: datetime, warm: float, damp: float, rng: Random) -> list[Sent]:
    """Warmest in the afternoon, when the lamp and the rack have been on; dampest at night."""
    swing = sin(tau * (at.hour + at.minute / 60 - 9) / 24)
    return [
        Sent(ReadingKind.ROOM_C, at, round(warm - 0.1 + 0.7 * swing + rng.gauss(0, 0.08), 2), "degC"),
        Sent(ReadingKind.ROOM_RH, at, round(damp - 2.2 * swing + rng.gauss(0, 0.4), 1), "percent"),
    ]
