"""Flammable liquids: which category they are of, and what published rules let stand where, for reference only.

The local fire code governs: in offices, shops and dwellings it often allows far less than the figures here.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.calc.bounds import number

#: ml in a US gallon, exact: 231 cubic inches.
GALLON_ML = 3785.411784

#: The category of flammable liquid that an H statement tells. GHS rev. 9, chapter 2.6.
CATEGORIES: dict[str, int] = {"H224": 1, "H225": 2, "H226": 3, "H227": 4}
#: Those that a place's total counts; category 4 (flash point above 60 C) has a line of its own where rules have one.
COUNTED = (1, 2, 3)

#: From this share of a limit on, it is near. Our own figure.
NEAR = 0.8


def category_of(statements: Iterable[str]) -> int | None:
    """The category (1 to 4) of flammable liquid that a substance's H statements tell, the gravest; None for none."""
    return min((CATEGORIES[code] for code in statements if code in CATEGORIES), default=None)


@dataclass(frozen=True)
class Published:
    """What a rule lets stand: gallons of liquids of these categories, where, and which rule that is.

    classes: as the text read calls them.
    """

    where: str
    categories: tuple[int, ...]
    classes: str
    gallons: float
    source: str

    @property
    def ml(self) -> float:
        return self.gallons * GALLON_ML


_OUTSIDE = "in containers outside a storage cabinet or storage room, in one building or fire area"
_CABINET = "in one storage cabinet"

#: United States, general industry. Read in their older wording, by classes; that the wording of 2012 puts these
#: categories in their place is told on second-hand pages for the cabinet, and from memory for the rest. The limits for
#: each stand side by side.
PUBLISHED: tuple[Published, ...] = (
    Published(_OUTSIDE, (1,), "Class IA", 25, "29 CFR 1910.106(e)(2)(ii)(b)"),
    Published(_OUTSIDE, (2, 3, 4), "Class IB, IC, II, III", 120, "29 CFR 1910.106(e)(2)(ii)(b)"),
    Published(_CABINET, (1, 2, 3), "Class I and II", 60, "29 CFR 1910.106(d)(3)(i)"),
    Published(_CABINET, (4,), "Class III", 120, "29 CFR 1910.106(d)(3)(i)"),
)


def share_of_limit(total_ml: float, limit_ml: float) -> float:
    """How much of a limit is used; above 1 where it is passed. limit_ml 0.001 or more."""
    total = number("total_ml", total_ml, at_least=0, at_most=1e9)
    return total / number("limit_ml", limit_ml, at_least=0.001, at_most=1e9)
