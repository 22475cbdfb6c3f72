"""Makers of instruments and of what they send."""

from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from django.test import Client

from shop import clock
from shop.people.models import Person
from shop.room import actions
from shop.room.models import Instrument

SECRET = "an-instrument-token-of-forty-three-letters-x"
PATH = "/api/readings/"


def add_instrument(
    by: Person,
    name: str = "Thermometer",
    kinds: tuple[str, ...] = ("room_c", "room_rh"),
    *,
    secret: str = SECRET,
    every_min: int | None = 10,
) -> Instrument:
    return actions.add_instrument(by=by, once=uuid4(), secret=secret, name=name, kinds=kinds, every_min=every_min)


def stamp(at: datetime) -> str:
    return at.isoformat().replace("+00:00", "Z")


def one(kind: str = "room_c", value: Any = 21.5, unit: str = "degC", *, ago: timedelta = timedelta(minutes=5)) -> Any:
    return {"kind": kind, "at": stamp(clock.now() - ago), "value": value, "unit": unit}


def send(readings: Any, *, secret: str = SECRET, client: Client | None = None, **headers: str) -> Any:
    """Post a batch, as an instrument does: without a cookie or a press's token."""
    asks = client or Client(enforce_csrf_checks=True)
    return asks.post(
        PATH,
        {"readings": readings},
        content_type="application/json",
        headers={"Authorization": f"Bearer {secret}", **headers},
    )
