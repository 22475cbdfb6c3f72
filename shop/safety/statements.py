"""The texts of H, P and EUH statements, from fixtures/ghs_statements.json; combined codes, and their gaps filled."""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.conf import settings

from shop.calc import ghs

_FILE = Path(settings.BASE_DIR) / "fixtures" / "ghs_statements.json"


@dataclass(frozen=True)
class Text:
    """One statement. gap: what of it the supplier fills in, "" where nothing is; more: what it may go on to say.

    source: where it is from; is_old: it was deleted since, and is still found on older sheets.
    """

    code: str
    text: str
    gap: str
    more: str
    source: str
    is_old: bool


@cache
def texts() -> dict[str, Text]:
    """Every text by its code, in the order of the lists."""
    told = json.loads(_FILE.read_text(encoding="utf-8"))
    return {
        row["code"]: Text(
            row["code"],
            row["text"],
            row.get("gap", ""),
            row.get("more", ""),
            told["sources"][row["source"]],
            row["source"] == "OLD",
        )
        for row in told["statements"]
    }


def statement(code: str, fill: str = "") -> str:
    """The text of a code, a combined one among them: "P303+P361+P353". fill: what stands in its gap, if it has one.

    P codes that are seldom combined are joined; H codes only as the lists combine them. ValueError for a code that
    there is not, and for a fill where the text has no gap, or several.
    """
    found = _texts_of(code)
    if not fill:
        return " ".join(one.text for one in found)
    if not has_gap(code):
        raise ValueError(f"fill must be left empty: {ghs.written(code)} has no gap that could take it.")
    return " ".join(_filled(one, fill) if one.gap else one.text for one in found)


def has_gap(code: str) -> bool:
    """Whether the supplier fills something in, in one place. ValueError as by `statement`."""
    return sum(bool(one.gap) for one in _texts_of(code)) == 1


def _texts_of(code: str) -> list[Text]:
    parts = ghs.parts(code)
    whole = texts().get("+".join(parts))
    return [whole] if whole else [_single(part, code, len(parts)) for part in parts]


def _single(part: str, code: str, how_many: int) -> Text:
    if part not in texts():
        raise ValueError(f"code must be one of the GHS; there is no {part}.")
    if how_many > 1 and not part.startswith("P"):
        raise ValueError(f"code must be one of the lists; {code[:30]} is not combined there. Give each by itself.")
    return texts()[part]


def _filled(one: Text, fill: str) -> str:
    """Its text with the gap filled; a full stop that the fill brings along does not stand twice."""
    before, _, after = one.text.partition(one.gap)
    fill = fill.rstrip(". ") if after.startswith(".") else fill
    return f"{before}{fill}{after}"


def is_known(code: str) -> bool:
    """Whether there is such a statement."""
    try:
        statement(code)
    except ValueError:
        return False
    return True
