"""Opening a room: its settings, its first owner and the starter content, all or nothing."""

from typing import Any
from zoneinfo import available_timezones

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
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
from shop.people.starter import load_starter
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


def check_name(name: str, field: str = "name") -> str:
    """A name fit to be kept, without outer blanks; Refused for an empty or an endless one."""
    name = " ".join(name.split())
    if not name:
        raise Refused("Give a name.", field=field)
    if len(name) > 80:
        raise Refused("A name has at most 80 letters.", field=field)
    return name


def check_zone(zone: str) -> str:
    if zone not in available_timezones():
        raise Refused(
            f"{zone or 'That'} is not a time zone. Give it as region and town, as in Europe/Lisbon or America/Chicago.",
            field="zone",
        )
    return zone


def check_units(units: str) -> str:
    if units not in UNITS:
        raise Refused("Units are metric or us.", field="units")
    return units


def check_currency(currency: str) -> str:
    code = currency.strip().upper()
    if len(code) != 3 or not (code.isascii() and code.isalpha()):
        raise Refused("A currency is given by its three letters, as in EUR or USD.", field="currency")
    return code


def check_sign_in(sign_in: str) -> str:
    sign_in = sign_in.strip()
    if not sign_in or len(sign_in) > 60 or any(c.isspace() for c in sign_in):
        raise Refused("A sign-in name has 1 to 60 letters and no blanks.", field="sign_in")
    return sign_in


def check_password(password: str, person: Person | None = None) -> str:
    """Refused, with all that is wrong in one sentence, for a password the settings' rules turn down."""
    try:
        validate_password(password, person)
    except ValidationError as wrong:
        raise Refused(" ".join(wrong.messages), field="password") from wrong
    return password


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
    us = check_units(units) == "us"
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
        paper=paper or (Paper.LETTER if us else Paper.A4),
        **UNITS[units],
    )
    if room.paper not in Paper:
        raise Refused("Paper is A4 or Letter.", field="paper")
    person.set_password(check_password(password, person))
    with transaction.atomic(durable=True):
        if is_open():
            raise Refused("This room is open already; its owner adds people and changes settings in the program.")
        room.save(force_insert=True)
        person.save(force_insert=True)
        load_starter()
    return person
