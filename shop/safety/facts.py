"""What stands on a hazard sheet: facts, each with where it is from; as they are kept, and as people type them.

Typed, a part is a text with one fact a line and its source in square brackets at the line's end:

    It burns without air. [NFPA 40, annex A]
    A burn: cool running water. [first-aid practice; from memory]

"from memory" alone, or after the source, says that nobody looked it up.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from shop.press.plain import visible
from shop.safety.models import Part

LONGEST_FACT, LONGEST_SOURCE = 300, 200
#: The most facts a part may have: a sheet is one page.
MOST_FACTS = 12
FROM_MEMORY = "from memory"

_LINE = re.compile(r"(?P<text>[^\[\]]*)(?:\[(?P<source>[^\[\]]*)\])?\s*\Z")
_RECALLED = re.compile(r"(?:^|[\s,;:]+)from memory\s*\Z", re.IGNORECASE)


class BadLines(ValueError):
    """Lines that cannot be read. lines: their numbers, from 1, each with what is wrong."""

    def __init__(self, lines: list[tuple[int, str]]) -> None:
        self.lines = lines
        super().__init__(" ".join(f"Line {number}: {wrong}" for number, wrong in lines))


@dataclass(frozen=True)
class Fact:
    """One line of a sheet. source: "" where none was given; from_memory: nobody looked it up."""

    text: str
    source: str = ""
    from_memory: bool = False

    @property
    def is_sourced(self) -> bool:
        """Whether it says where it is from, if only that it is from memory."""
        return bool(self.source) or self.from_memory

    @property
    def typed(self) -> str:
        said = "; ".join(part for part in (self.source, FROM_MEMORY if self.from_memory else "") if part)
        return f"{self.text} [{said}]" if said else self.text

    def stored(self) -> dict[str, Any]:
        return {"text": self.text, "source": self.source, "from_memory": self.from_memory}


#: The facts of a sheet by part; a part without facts is left out.
Facts = dict[str, list[Fact]]


def read_part(text: str) -> list[Fact]:
    """The facts of one part as it was typed; empty lines are passed over. Raises BadLines."""
    facts, wrong = [], []
    for number, line in enumerate(visible(text).splitlines(), 1):
        if not line.strip():
            continue
        try:
            facts.append(_read_line(line))
        except ValueError as bad:
            wrong.append((number, str(bad)))
    if len(facts) > MOST_FACTS:
        wrong.append((len(text.splitlines()), f"A part has at most {MOST_FACTS} facts; a sheet is one page."))
    if wrong:
        raise BadLines(wrong)
    return facts


def _read_line(line: str) -> Fact:
    found = _LINE.match(line)
    if found is None:
        raise ValueError("One pair of square brackets, at the end of the line, holds the source.")
    text, source = " ".join(found["text"].split()), " ".join((found["source"] or "").split())
    if not text:
        raise ValueError("There is a source, but no fact before it.")
    if len(text) > LONGEST_FACT:
        raise ValueError(f"Keep a fact to {LONGEST_FACT} characters; these are {len(text)}.")
    if len(source) > LONGEST_SOURCE:
        raise ValueError(f"Keep a source to {LONGEST_SOURCE} characters; these are {len(source)}.")
    recalled = _RECALLED.search(source)
    return Fact(text, source[: recalled.start()] if recalled else source, recalled is not None)


def typed_part(facts: Iterable[Fact]) -> str:
    """A part as it is typed; `read_part` undoes it."""
    return "\n".join(fact.typed for fact in facts)


def of_stored(stored: Mapping[str, Any]) -> Facts:
    """The facts of a draft or an approved version, by part, in reading order."""
    return {
        part: [Fact(str(one["text"]), str(one["source"]), bool(one["from_memory"])) for one in stored[part]]
        for part in Part.values
        if stored.get(part)
    }


def to_store(facts: Mapping[str, Iterable[Fact]]) -> dict[str, Any]:
    """As a draft or a version keeps them: parts in reading order, empty ones left out."""
    return {part: kept for part in Part.values if (kept := [fact.stored() for fact in facts.get(part, ())])}


# What a sheet must have, and how it is read -------------------------------------------------------------------------

#: What every sheet must say, and what one on a substance must say besides.
NEEDED = (Part.CAN_HURT, Part.BEFORE, Part.WHILE, Part.NEVER, Part.IF_FIRE, Part.WEAR)
NEEDED_OF_SUBSTANCE = (Part.IF_SPILL, Part.IF_BREATHED, Part.IF_SKIN, Part.IF_EYES, Part.APART, Part.WASTE)


def missing_parts(facts: Facts, *, of_substance: bool) -> list[Part]:
    """The needed parts that say nothing yet, in reading order."""
    needed = {*NEEDED, *(NEEDED_OF_SUBSTANCE if of_substance else ())}
    return [part for part in Part if part in needed and not facts.get(part)]


@dataclass(frozen=True)
class Section:
    """A part of a sheet as it is shown."""

    part: Part
    facts: list[Fact]

    @property
    def slug(self) -> str:
        return self.part.value

    @property
    def label(self) -> str:
        return str(self.part.label)

    @property
    def is_if(self) -> bool:
        """Whether it says what to do once something has gone wrong."""
        return self.slug.startswith("if-")


def sections(stored: Mapping[str, Any]) -> list[Section]:
    """The parts of a draft or a version in reading order."""
    return [Section(Part(part), facts) for part, facts in of_stored(stored).items()]


def in_a_hurry(stored: Mapping[str, Any]) -> list[Section]:
    """The same for somebody in a hurry: first what to do if it goes wrong."""
    return sorted(sections(stored), key=lambda section: not section.is_if)


# What is new --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Compared:
    """A part of two versions: for each line whether it is "new", "gone" or the "same"."""

    part: Part
    lines: list[tuple[str, Fact]]

    @property
    def label(self) -> str:
        return str(self.part.label)

    @property
    def is_changed(self) -> bool:
        return any(how != "same" for how, _ in self.lines)


def compare(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[Compared]:
    """What `after` has that `before` had not, and what is gone, line by line, part by part. A fact whose source
    changed is another fact."""
    old, new = of_stored(before), of_stored(after)
    found = []
    for part in Part:
        was, is_now = old.get(part, []), new.get(part, [])
        if was or is_now:
            found.append(Compared(part, _compared(was, is_now)))
    return found


def _compared(was: list[Fact], is_now: list[Fact]) -> list[tuple[str, Fact]]:
    from difflib import SequenceMatcher

    lines: list[tuple[str, Fact]] = []
    for how, a, b, c, d in SequenceMatcher(a=was, b=is_now, autojunk=False).get_opcodes():
        if how == "equal":
            lines += [("same", fact) for fact in is_now[c:d]]
        else:
            lines += [("gone", fact) for fact in was[a:b]]
            lines += [("new", fact) for fact in is_now[c:d]]
    return lines
