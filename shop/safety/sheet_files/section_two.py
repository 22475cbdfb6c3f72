"""What section 2 of a supplier's sheet seems to say, and its date: suggestions, to be compared with the sheet."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from shop.safety.sheet_files.sections import section

_H = re.compile(r"\b(?:EUH\d{3}[A-Z]?|H[234]\d{2}[A-Za-z]{0,2}(?:\s*\+\s*H[234]\d{2}[A-Za-z]{0,2})*)\b")
_P = re.compile(r"\bP[1-5]\d{2}(?:\s*\+\s*P[1-5]\d{2})*\b")
_GHS = re.compile(r"\bGHS0[1-9]\b")
_SIGNAL = re.compile(r"signal\s+word[^\w\n]*\s*(danger|warning)\b", re.IGNORECASE)
_ALONE = re.compile(r"^\s*(danger|warning)\s*[!.]?\s*$", re.IGNORECASE | re.MULTILINE)
_REVISED = re.compile(
    r"(?:revis(?:ion|ed)|issued?|prepared|preparation)\b[^\n\d]{0,40}(?P<day>\d[^\n]{5,18})",
    re.IGNORECASE,
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DAYS = (
    re.compile(r"(?P<y>\d{4})-(?P<m>\d{2})-(?P<d>\d{2})"),
    re.compile(r"(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4})"),
    re.compile(r"(?P<d>\d{1,2})[\s-]+(?P<name>[A-Za-z]{3})[a-z]*\.?,?[\s-]+(?P<y>\d{4})"),
)
#: No sheet has more of them; a file that does is not read as one.
_MOST = 60


@dataclass(frozen=True)
class Suggestion:
    """What was found; the fields are those of SupplierSheet. signals: the words found, of which only one can stand."""

    signals: list[str] = field(default_factory=list)
    pictograms: list[str] = field(default_factory=list)
    h_codes: list[str] = field(default_factory=list)
    p_codes: list[str] = field(default_factory=list)
    revised_on: str = ""

    @property
    def is_any(self) -> bool:
        return any(vars(self).values())

    def plain(self) -> dict[str, Any]:
        """For JSON."""
        return dict(vars(self))


def suggested(texts: Sequence[str]) -> Suggestion:
    """What section 2 seems to say, and when the sheet was last revised, where its words tell without doubt."""
    two = section(texts, 2)
    return Suggestion(
        signals=sorted({word.capitalize() for word in (_SIGNAL.findall(two) or _ALONE.findall(two))}),
        pictograms=sorted(set(_GHS.findall(two))),
        h_codes=_each(_H.findall(two)),
        p_codes=_each(_P.findall(two)),
        revised_on=_revised("\n".join(texts)),
    )


def _each(found: list[str]) -> list[str]:
    return list(dict.fromkeys(re.sub(r"\s", "", one) for one in found))[:_MOST]


def _revised(text: str) -> str:
    """The latest date that stands by "revision" and the like; "" for none, or for one that may be read two ways."""
    days = {day for found in _REVISED.finditer(text) if (day := _day(found["day"]))}
    return max(days).isoformat() if days else ""


def _day(text: str) -> date | None:
    for pattern in _DAYS:
        if found := pattern.match(text):
            parts = found.groupdict()
            try:
                month = int(parts["m"]) if "m" in parts else _MONTHS.index(parts["name"].casefold()) + 1
                return date(int(parts["y"]), month, int(parts["d"]))
            except ValueError:
                return None
    return None
