"""What hangs on the demo room's wall: numbers, shut-offs and extinguishers, all invented."""

from typing import Any

from shop.demo.hands import Hands
from shop.people.models import Person
from shop.safety import actions
from shop.safety.actions import WantedExtinguisher, WantedNumber, WantedShutOff
from shop.safety.actions.wall import list_digest
from shop.safety.models import CallNumber, Extinguisher, ShutOff

NUMBERS = (
    WantedNumber("Fire service", "000 00 17", "Anything burns or smokes; go out first"),
    WantedNumber("Ambulance", "000 00 18", "Somebody is hurt or unwell"),
    WantedNumber("Poison centre of Saltmere", "000 55 30", "Swallowed, breathed in, in the eyes"),
    WantedNumber("Tannery Yard, caretaker", "000 55 41", "Water, power, the street door"),
)
SHUT_OFFS = (
    WantedShutOff("Mains electricity", "Grey cupboard by the street door", "Red lever down"),
    WantedShutOff("Nitrogen", "Valve on the cylinder, behind the lathe", "Clockwise until it stops"),
    WantedShutOff("Vacuum pump", "Green switch by the pump cupboard", "Press"),
    WantedShutOff("Heating current of the stylus", "Key on the amplifier rack", "Quarter turn left"),
)
EXTINGUISHERS = (
    WantedExtinguisher("Water, 9 l", "Left of the lathe", "chip, blanks, paper, wood", "anything electrical, solvent"),
    WantedExtinguisher(
        "Carbon dioxide, 2 kg", "By the amplifier rack", "electrical things", "chip or blanks: they burn on under it"
    ),
    WantedExtinguisher("Dry powder, 6 kg", "By the solvent cupboard", "solvent", "chip: it does not cool"),
)


def hang_up_the_card(hands: Hands, engineer: Person) -> None:
    """Write down what the wall card says."""
    lists: tuple[tuple[Any, Any, Any], ...] = (
        (actions.keep_call_numbers, CallNumber, NUMBERS),
        (actions.keep_shut_offs, ShutOff, SHUT_OFFS),
        (actions.keep_extinguishers, Extinguisher, EXTINGUISHERS),
    )
    for act, model, rows in lists:
        hands.do(act, by=engineer, rows=rows, seen=list_digest(model, type(rows[0])))
