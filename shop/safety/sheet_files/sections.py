"""On which page of a supplier's sheet each of its 16 sections begins, found from the words of its pages.

A sheet is read in a hurry: "First aid, page 2". What is not found is left out; the sheet itself is what counts.
"""

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

#: The 16 sections and their titles: 29 CFR 1910.1200, appendix D, table D.1 (12 to 15 are not enforced by OSHA). The
#: GHS's own, annex 4, and those of Regulation (EC) 1907/2006, annex II, are the same but for a word here and there.
TITLES = {
    1: "Identification",
    2: "Hazard(s) identification",
    3: "Composition/information on ingredients",
    4: "First-aid measures",
    5: "Fire-fighting measures",
    6: "Accidental release measures",
    7: "Handling and storage",
    8: "Exposure controls/personal protection",
    9: "Physical and chemical properties",
    10: "Stability and reactivity",
    11: "Toxicological information",
    12: "Ecological information",
    13: "Disposal considerations",
    14: "Transport information",
    15: "Regulatory information",
    16: "Other information",
}
#: Those that are looked for when something has happened, and what they are called then.
URGENT = {4: "First aid", 5: "Fire", 6: "Spill or escape", 8: "What to wear"}

#: How each title begins, as sheets write it; hyphens and slashes with or without spaces.
_BEGINS = {
    1: r"(?:product\s+)?(?:and\s+company\s+)?identification\b",
    2: r"hazards?\s*(?:\(s\)\s*)?identification\b",
    3: r"composition\b",
    4: r"first[\s\u2010-\u2015-]*aid\b",
    5: r"fire[\s\u2010-\u2015-]*fighting\b",
    6: r"accidental\s+release\b",
    7: r"handling\s+and\s+storage\b",
    8: r"exposure\s+controls?\b",
    9: r"physical\s+and\s+chemical\s+propert",
    10: r"stability\s+and\s+reactivity\b",
    11: r"toxicological\s+information\b",
    12: r"ecological\s+information\b",
    13: r"disposal\s+considerations?\b",
    14: r"transport\s+information\b",
    15: r"regulatory\s+information\b",
    16: r"other\s+information\b",
}
_TITLE = {number: re.compile(begins, re.IGNORECASE) for number, begins in _BEGINS.items()}
#: "SECTION 4:", "4.", "Section 04 -", also in some other languages; then the title, or nothing.
_NUMBERED = re.compile(
    r"(?P<word>section|abschnitt|rubrique|secci[oó]n|sezione|rubriek|avsnitt|afsnit|kohta|sekcja|se[cç][cç][aã]o)?"
    r"\s*0?(?P<number>1[0-6]|[1-9])\b\s*(?P<sign>[:.)\u2010-\u2015-])?\s*(?P<rest>.*)",
    re.IGNORECASE,
)
#: A line that is longer is a sentence.
_LONGEST = 120
#: A page with so many headings that come again is a list of contents; so many places are weighed at most.
_CONTENTS, _MOST = 6, 400


class Heading(NamedTuple):
    page: int
    line: int
    section: int


def first_pages(texts: Sequence[str]) -> dict[int, int]:
    """The page, from 1, on which each section begins, as far as they were found. texts: the words of pages 1, 2, ..."""
    found = _without_contents(list(_headings(texts))[:_MOST])
    return {one.section: one.page for one in _longest_rising(found)}


def section(texts: Sequence[str], number: int) -> str:
    """The words of one section, "" where its beginning was not found."""
    chain = _longest_rising(_without_contents(list(_headings(texts))[:_MOST]))
    begins = next((one for one in chain if one.section == number), None)
    if begins is None:
        return ""
    ends = next((one for one in chain if one.section > number), None)
    last = ends.page if ends else begins.page
    words = []
    for page in range(begins.page, last + 1):
        lines = texts[page - 1].splitlines()
        start = begins.line if page == begins.page else 0
        stop = ends.line if ends and page == ends.page else len(lines)
        words += lines[start:stop]
    return "\n".join(words)


def _headings(texts: Sequence[str]) -> Iterator[Heading]:
    for page, text in enumerate(texts, 1):
        lines = [" ".join(line.split()) for line in text.splitlines()]
        for at, line in enumerate(lines):
            following = lines[at + 1] if at + 1 < len(lines) else ""
            if line and len(line) <= _LONGEST and (number := _number_of(line, following)):
                yield Heading(page, at, number)


def _number_of(line: str, following: str) -> int:
    """The section that a line begins, 0 for none. following: the line after it, where a title may stand alone."""
    numbered = _NUMBERED.match(line)
    if numbered:
        number, rest = int(numbered["number"]), numbered["rest"]
        if _TITLE[number].match(rest) or (not rest and _TITLE[number].match(following)):
            return number
        named = numbered["word"] and numbered["sign"] == ":" and rest  # in another language, perhaps
        return number if named and not rest[:1].islower() else 0
    return next((number for number, title in TITLES.items() if line.casefold() == title.casefold()), 0)


def _without_contents(found: list[Heading]) -> list[Heading]:
    """Leave out a page that only lists the sections: all that it names comes again on later pages."""
    for page in sorted({one.page for one in found}):
        named = {one.section for one in found if one.page == page}
        later = {one.section for one in found if one.page > page}
        if len(named) >= _CONTENTS and named <= later:
            return [one for one in found if one.page != page]
    return found


def _longest_rising(found: list[Heading]) -> list[Heading]:
    """The longest run of headings, in the order they stand in, whose numbers rise: what merely names a section drops
    out."""
    best: list[list[Heading]] = []
    for at, one in enumerate(found):
        before = max((best[b] for b in range(at) if found[b].section < one.section), key=len, default=[])
        best.append([*before, one])
    return max(best, key=len, default=[])
