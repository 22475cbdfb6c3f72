"""Labels after the Globally Harmonized System (GHS): hazard classes, pictograms, signal words, codes of statements.

After UN GHS, revision 8 (2019), annexes 1 and 3, and Regulation (EC) 1272/2008 (CLP), annex I; where the two differ it
is said. The texts of the statements are data (fixtures/ghs_statements.json) and read by shop.safety.statements.
"""

from shop.calc.ghs.classes import CLASSES, Category, HazardClass, category, classes_of
from shop.calc.ghs.codes import parts, sort_key, written
from shop.calc.ghs.flammable import flammable_liquid_category
from shop.calc.ghs.label import Classified, Label, label
from shop.calc.ghs.numbers import checked_cas, checked_un
from shop.calc.ghs.pictograms import PICTOGRAMS, Pictogram
from shop.calc.ghs.signal import DANGER, SIGNALS, WARNING, one_signal

__all__ = [
    "CLASSES",
    "DANGER",
    "PICTOGRAMS",
    "SIGNALS",
    "WARNING",
    "Category",
    "Classified",
    "HazardClass",
    "Label",
    "Pictogram",
    "category",
    "checked_cas",
    "checked_un",
    "classes_of",
    "flammable_liquid_category",
    "label",
    "one_signal",
    "parts",
    "sort_key",
    "written",
]
