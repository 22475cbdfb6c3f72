"""The tables of people: who they are, how they come in, and what was done about their accounts."""

from shop.people.models.accounts import Invitation, ToldApart
from shop.people.models.doors import (
    Brake,
    HowIn,
    PersonalCode,
    RecoveryCode,
    SecondFactor,
    SharedDevice,
    SignIn,
)
from shop.people.models.people import (
    ENGINEERS,
    EVERYONE,
    HANDS,
    OWNERS,
    LengthUnit,
    LiquidUnit,
    Paper,
    Person,
    PersonManager,
    PressureUnit,
    Role,
    Room,
    TemperatureUnit,
    Units,
)

__all__ = [
    "ENGINEERS",
    "EVERYONE",
    "HANDS",
    "OWNERS",
    "Brake",
    "HowIn",
    "Invitation",
    "LengthUnit",
    "LiquidUnit",
    "Paper",
    "Person",
    "PersonManager",
    "PersonalCode",
    "PressureUnit",
    "RecoveryCode",
    "Role",
    "Room",
    "SecondFactor",
    "SharedDevice",
    "SignIn",
    "TemperatureUnit",
    "ToldApart",
    "Units",
]
