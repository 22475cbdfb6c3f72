"""How readings, limits and amounts of duties are said."""

from collections.abc import Iterable

from shop.calc import units
from shop.duties.models import DutyStep, EntryStep, StepQuantity
from shop.people.fields import measured, unit_for
from shop.people.models import Units
from shop.people.queries import the_room


def reading_words(value: float, step: DutyStep | EntryStep, reader: Units) -> str:
    """A value read in a step, in the reader's unit: "12 bar", "33.4 rpm"."""
    if step.quantity == StepQuantity.PLAIN:
        return f"{value:.10g} {step.unit}".strip().replace("-", "\u2212")
    return units.show(step.quantity, value, unit_for(step.quantity, reader))


def limits_words(step: DutyStep | EntryStep, reader: Units) -> str:
    """The shop's own limits of a reading: "between 10 bar and 15 bar"; "" without any."""
    low, high = (None if edge is None else reading_words(edge, step, reader) for edge in (step.low, step.high))
    if low and high:
        return f"between {low} and {high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""


def outside_words(value: float, step: DutyStep | EntryStep, reader: Units) -> str:
    """Why a value is outside the step's limits: "12 bar is below the shop's own 15 bar"; "" if it is within."""
    said = reading_words(value, step, reader)
    if step.low is not None and value < step.low:
        return f"{said} is below the shop's own {reading_words(step.low, step, reader)}"
    if step.high is not None and value > step.high:
        return f"{said} is above the shop's own {reading_words(step.high, step, reader)}"
    return ""


def amiss_words(steps: Iterable[EntryStep]) -> tuple[str, list[list[str | float]]]:
    """What an entry read outside the shop's limits, in the room's units ("" for nothing), and the quantities in it."""
    found = [step for step in steps if step.is_amiss and step.reading is not None]
    if not found:
        return "", []
    room = the_room()
    said = "; ".join(f"{step.reads}: {outside_words(step.reading or 0.0, step, room)}" for step in found)
    quantities: list[list[str | float]] = [
        [*measured(step.quantity, value, room)]
        for step in found
        if step.quantity != StepQuantity.PLAIN
        for value in (step.reading, step.low, step.high)
        if value is not None
    ]
    return said[:300], quantities
