"""What stands on a label, from the classification: pictograms, signal word and H statements by the rules of precedence.

Source: UN GHS 1.4.10.5.3; CLP, articles 26 (pictograms), 20 (signal words) and 27 (statements).
"""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.calc.ghs.classes import CLASSES, category
from shop.calc.ghs.codes import sort_key
from shop.calc.ghs.signal import one_signal

#: A statement that may be left off beside another, which says it already. UN GHS 1.4.10.5.3.3.
SAID_ALREADY = {"H318": "H314", "H400": "H410", "H401": "H411", "H402": "H412"}
_IRRITATION = frozenset({"skin", "eyes"})


@dataclass(frozen=True)
class Classified:
    """One line of a classification: the class's slug, its category, the H statement."""

    hazard_class: str
    category: str
    h_code: str


@dataclass(frozen=True)
class Label:
    """What the rules give. optional: pictograms that may stand there too; may_drop: statements that may be left off.

    pictograms, optional: codes in order; signal: "Danger", "Warning" or ""; h_codes: all of them, in order.
    """

    signal: str
    pictograms: tuple[str, ...]
    optional: tuple[str, ...]
    h_codes: tuple[str, ...]
    may_drop: tuple[str, ...]


def label(hazards: Iterable[Classified]) -> Label:
    """The label of a substance. ValueError for a class, category or H statement that do not belong together.

    1. of one class only the gravest category gives a pictogram and the signal word; 2. GHS06 leaves no room for GHS07,
    nor does GHS05 where GHS07 is for irritated skin or eyes, nor GHS08 for respiratory sensitisation where it is for
    those or for sensitised skin; 3. beside GHS01, GHS02 and GHS03 are optional, beside GHS02 or GHS06 GHS04 is, save
    where one category asks for both; 4. Danger drops Warning.
    """
    lines = list(hazards)
    gravest: dict[str, int] = {}
    for line in lines:
        found = category(line.hazard_class, line.category)
        if line.h_code not in found.h_codes:
            told = " or ".join(found.h_codes) or "none"
            raise ValueError(f"h_code of {line.hazard_class} {line.category} must be {told}, not {line.h_code[:12]!r}.")
        place = CLASSES[line.hazard_class].categories.index(found)
        gravest[line.hazard_class] = min(place, gravest.get(line.hazard_class, place))
    asked = {slug: CLASSES[slug].categories[place] for slug, place in gravest.items()}
    shown, optional = _by_precedence({slug: one.pictograms for slug, one in asked.items()})
    codes = tuple(sorted({line.h_code for line in lines}, key=sort_key))
    return Label(
        signal=one_signal(one.signal for one in asked.values()),
        pictograms=shown,
        optional=optional,
        h_codes=codes,
        may_drop=tuple(code for code in codes if SAID_ALREADY.get(code) in codes),
    )


def _by_precedence(asked: dict[str, tuple[str, ...]]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The pictograms to show, and those that may be shown besides, from what each class asks for."""
    every = {code for codes in asked.values() for code in codes}
    gone_for: frozenset[str] = frozenset()
    if "GHS05" in every:
        gone_for |= _IRRITATION
    if "respiratory-sensitiser" in asked:
        gone_for |= _IRRITATION | {"skin-sensitiser"}
    wanted = {code for slug, codes in asked.items() for code in codes if not (code == "GHS07" and slug in gone_for)}
    if "GHS06" in wanted:
        wanted.discard("GHS07")
    together = {code for codes in asked.values() if len(codes) > 1 for code in codes}
    optional: set[str] = set()
    if "GHS01" in wanted:
        optional |= wanted & {"GHS02", "GHS03"}
    if wanted & {"GHS02", "GHS06"}:
        optional |= wanted & {"GHS04"}
    optional -= together
    return tuple(sorted(wanted - optional)), tuple(sorted(optional))
