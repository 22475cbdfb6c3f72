"""Opening a room: its settings, its first owner and the starter content, all or nothing."""

from typing import Any

from django.db import transaction

from shop import clock
from shop.people.models import (
    LengthUnit,
    LiquidUnit,
    Paper,
    Person,
    PressureUnit,
    Role,
    Room,
    TemperatureUnit,
)
from shop.people.rules import check_currency, check_name, check_password, check_sign_in, check_zone
from shop.people.starter import load_starter
from shop.press import record
from shop.refusal import Refused

#: What a room may start with; each person chooses their own later.
UNITS: dict[str, dict[str, Any]] = {
    "metric": {
        "pressure_unit": PressureUnit.BAR,
        "temperature_unit": TemperatureUnit.CELSIUS,
        "liquid_unit": LiquidUnit.LITRE,
        "length_unit": LengthUnit.MM,
    },
    "us": {
        "pressure_unit": PressureUnit.PSI,
        "temperature_unit": TemperatureUnit.FAHRENHEIT,
        "liquid_unit": LiquidUnit.GALLON,
        "length_unit": LengthUnit.INCH,
    },
}


def is_open() -> bool:
    """Whether this database has its room."""
    return Room.objects.exists()


def check_units(units: str) -> str:
    """Which of UNITS is meant, in small or capital letters."""
    meant = units.strip().lower()
    if meant not in UNITS:
        raise Refused("Units are metric or us.", field="units")
    return meant


def check_paper(paper: str) -> str:
    """Which Paper is meant, in small or capital letters."""
    meant = {value.lower(): value for value in Paper.values}.get(paper.strip().lower())
    if meant is None:
        raise Refused("Paper is A4 or Letter.", field="paper")
    return meant


def open_room(
    *,
    name: str,
    zone: str,
    units: str,
    owner_name: str,
    sign_in: str,
    password: str,
    currency: str | None = None,
    paper: str | None = None,
) -> Person:
    """Make the room, its owner and the starter content; give the owner.

    units: "metric" or "us"; currency and paper follow from it unless given. Raises Refused, naming the argument in
    `field`, for a value that will not do, and where the room is open already.
    """
    units = check_units(units)
    us = units == "us"
    person = Person(
        sign_in=check_sign_in(sign_in),
        name=check_name(owner_name, "owner_name"),
        role=Role.OWNER,
        made_at=clock.now(),
        **UNITS[units],
    )
    room = Room(
        pk=1,
        name=check_name(name),
        zone=check_zone(zone),
        currency=check_currency(currency or ("USD" if us else "EUR")),
        paper=check_paper(paper or (Paper.LETTER if us else Paper.A4)),
        **UNITS[units],
    )
    person.set_password(check_password(password, person, room=room.name))
    with transaction.atomic(durable=True):
        if is_open():
            raise Refused("This room is open already; its owner adds people and changes settings in the program.")
        room.save(force_insert=True)
        person.save(force_insert=True)
        load_starter()
        record.write(by=person, act="people.open_room", thing=room, said={"name": name, "zone": zone}, changed={})
    return person
