"""Estimates in short, for the page of a place: from what is written down as kept in it, and from the list of cylinders.

The whole of them, and what they take for granted: shop.safety.what_if.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.calc import air, gas, units
from shop.people.fields import unit_for
from shop.people.models import Units
from shop.safety.cylinders_here import Listed, listed
from shop.safety.layout import NITROGEN, Held
from shop.safety.models import Form, Place, Substance
from shop.safety.what_if import TENTH, gas_m3_of, let_go
from shop.safety.wording import poured_words

#: Taken for cylinders that are only known by their water volume: a common filling, to be looked up on the cylinder.
FULL_BAR, FULL_C = 200.0, 15.0
ROOM_C = 20.0
#: More cylinders than that are not reckoned as one.
_MOST_WATER_ML = 5_000_000


def solvent_of(substance: Substance) -> air.Solvent | None:
    """The figures kept for a substance, by its CAS number; None where there are none."""
    return next((one for one in air.SOLVENTS.values() if one.cas == substance.cas), None)


@dataclass(frozen=True)
class Short:
    """One estimate for a place: what if, the figure that comes of it, its unit, and the rest in words.

    is_grave: it passes what it is held against.
    """

    asks: str
    figure: str
    unit: str
    words: str
    is_grave: bool


def of_place(place: Place, held: Sequence[Held], reader: Units, *, nitrogen_ml: int = 0) -> list[Short]:
    """What can be said of a room with a volume from what is kept in it and within it.

    nitrogen_ml: the water volume of full nitrogen cylinders written down as kept anywhere. What the list of cylinders
    has beyond that may stand here too, and is reckoned with.
    """
    if place.volume_l is None or place.volume_l <= 0:
        return []
    room_m3 = place.volume_l / 1000
    found = []
    gases = [one.kept for one in held if one.kept.substance.form == Form.GAS and not one.kept.empties]
    water_ml = sum(one.amount or 0 for one in gases)
    on_list = listed() if any(one.substance.cas == NITROGEN for one in gases) else Listed(0, 0.0, 0.0)
    more_l = max(0.0, on_list.water_l - nitrogen_ml / 1000)
    if 0 < water_ml + 1000 * more_l <= _MOST_WATER_ML:
        found.append(_cylinders(room_m3, water_ml / 1000, more_l, on_list, reader))
    there: dict[str, int] = {}
    for one in held:
        if (figures := solvent_of(one.kept.substance)) is not None:
            there[figures.name] = there.get(figures.name, 0) + (one.amount or 0)
    found += [_spill(room_m3, air.SOLVENTS[name], ml, reader) for name, ml in there.items()]
    return found


def _cylinders(room_m3: float, written_l: float, more_l: float, on_list: Listed, reader: Units) -> Short:
    """written_l: of the cylinders kept here; more_l: of those on the list that are written down nowhere."""
    water_l = written_l + more_l
    if on_list.water_l > 0:
        gas_m3, filled = water_l * on_list.gas_m3 / on_list.water_l, "full as delivered"
    else:
        gas_m3 = gas_m3_of(gas.nitrogen_mass_kg(water_l, FULL_BAR, FULL_C), ROOM_C)
        filled = f"full at {units.show('pressure', FULL_BAR, unit_for('pressure', reader))}"
    worst = let_go(room_m3, gas_m3)[0]
    smallest = units.show("volume", worst.smallest_m3, unit_for("volume", reader))
    means = (
        f"Below 19.5\u00a0% air is short of oxygen; a room of {smallest} would keep that."
        if worst.is_short
        else "Air is short of oxygen below 19.5\u00a0%."
    )
    whose = ""
    if more_l > 0:
        cylinders = f"{on_list.count} cylinder{'' if on_list.count == 1 else 's'}"
        whose = (
            f" {written_l:g}\u00a0l are written down as kept here; the list of cylinders has {cylinders} that are not "
            f"empty, {on_list.water_l:g}\u00a0l. What of it is written down nowhere is taken to stand here: write down "
            "where it stands."
        )
    return Short(
        asks="All nitrogen kept here let go at once",
        figure=f"{worst.percent:.1f}",
        unit="%",
        words=f"oxygen, by the most cautious formula: {water_l:g}\u00a0l of water volume, taken as {filled}.{whose} "
        f"{means}",
        is_grave=worst.is_short,
    )


def _spill(room_m3: float, figures: air.Solvent, there_ml: int, reader: Units) -> Short:
    grams = air.grams_at_fraction_of_lel(TENTH, room_m3, figures.molar_mass_g_mol, figures.lel_percent)
    tenth_ml = grams / figures.density_g_ml
    figure, _, unit = poured_words(tenth_ml, reader).partition("\u00a0")
    kept = f" {poured_words(there_ml, reader)} are kept here." if there_ml else ""
    return Short(
        asks=f"{figures.name.capitalize()} spilt, and all of it evaporated",
        figure=figure,
        unit=unit,
        words=f"bring the whole room to a tenth of the lower explosive limit, on average.{kept}",
        is_grave=there_ml > tenth_ml,
    )
