"""How the figures and the classes of safety are said."""

from shop.calc import ghs, units
from shop.people.fields import unit_for, whole_words
from shop.people.models import LengthUnit, LiquidUnit, Units
from shop.safety.layout import Held
from shop.safety.models import Form, Kept, Place
from shop.wording import grouped


def solid_unit(reader: Units) -> str:
    """In which unit somebody reads the weight of what is kept."""
    return "lb" if reader.length_unit == LengthUnit.INCH else "kg"


def amount_words(kept: Kept, reader: Units) -> str:
    """How much of it is kept, as this person reads it; a cylinder by its water volume, in litres as it is stamped."""
    if kept.amount is None:
        return "amount not written down"
    if kept.substance.form == Form.LIQUID:
        return whole_words("liquid", kept.amount, reader)
    if kept.substance.form == Form.GAS:
        return f"{kept.amount / 1000:g}\u00a0l of water volume"
    return units.show("mass", kept.amount, solid_unit(reader))


def held_words(one: Held, reader: Units) -> str:
    """The same of what is kept in a place, with what stands open or in stock there."""
    if one.amount == one.kept.amount:
        return amount_words(one.kept, reader)
    counted = whole_words("liquid", one.counted_ml, reader)
    said = f"{counted} open or in stock"
    return said if one.kept.amount is None else f"{said}; written down: {amount_words(one.kept, reader)}"


def volume_words(place: Place, reader: Units) -> str:
    """The free volume of a place, where it is written down."""
    if place.volume_l is None:
        return "not written down"
    return units.show("volume", place.volume_l / 1000, unit_for("volume", reader))


def small_unit(reader: Units) -> str:
    """In which unit somebody reads as little liquid as a wipe takes."""
    return "floz" if reader.liquid_unit == LiquidUnit.GALLON else "ml"


def poured_words(ml: float, reader: Units) -> str:
    """An amount of liquid that may be as small as a wipe takes, or as large as a can."""
    if ml < 1000:
        return units.show("liquid", ml, small_unit(reader))
    return whole_words("liquid", round(ml), reader)


def about_ppm(ppm: float) -> str:
    """An estimated concentration in parts per million, to two figures, for it is no better known; without the unit."""
    rounded = float(f"{ppm:.2g}")
    return f"{rounded:g}" if ppm < 10 else grouped(round(rounded))


def hazard_words(hazard_class: str, category: str) -> str:
    """A line of a classification: "Flammable liquid, category 2", "Gas under pressure: compressed gas"."""
    found = ghs.CLASSES.get(hazard_class)
    if found is None:
        return f"{hazard_class} {category}".strip()
    if not category:
        return found.name
    if category[0].isdigit():
        return f"{found.name}, category {category}"
    return f"{found.name}: {category[0].lower()}{category[1:]}"
