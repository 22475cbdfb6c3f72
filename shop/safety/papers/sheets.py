"""One hazard sheet as a page of paper: what stands on it, and its PDF, made once and kept.

An approved version never changes; what else stands on its paper may: numbers, the substance's label, whether it is
still in force, where its code opens. The kept file is named by all of that. Drafts are made afresh each time.
"""

import hashlib
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.utils.functional import cached_property
from django.utils.safestring import SafeString

from shop import clock, paper
from shop.codes import Opens, draw
from shop.people.models import Room
from shop.safety import facts
from shop.safety.facts import Fact, Section
from shop.safety.models import CallNumber, HazardSheet, SheetVersion, Substance
from shop.wording import in_full

#: Raise it when the template says something else than before, so that papers are set anew.
EDITION = 1
#: So many kept papers of one version are left lying, the newest.
_KEPT = 12
#: More than so much (by `_begin`) never stood on one page in the largest type, and in the next: measured with DejaVu
#: Sans, the widest of the type faces these papers are set in.
_MOST = (4600, 6100)
#: A longer word may be parted.
_LONG_WORD = 24


@dataclass(frozen=True)
class Line:
    """A fact of a sheet. note: the number of its source at the foot, None without one.

    body, last: its text parted before the last word, which stays with the note, unless it is very long.
    """

    fact: Fact
    note: int | None

    @property
    def body(self) -> str:
        return self.fact.text.removesuffix(self.last)

    @property
    def last(self) -> str:
        word = self.fact.text.rpartition(" ")[2]
        return word if len(word) <= _LONG_WORD else ""


@dataclass(frozen=True)
class Lines:
    """A part of a sheet that has lines."""

    section: Section
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class SheetPaper(Opens):
    """All that stands on the paper of a sheet.

    standing: in two or three words why it is not in force, "" for one that is; approval: who approved what until when,
    one line each; version: None for a draft; signal, pictograms: of its substance's label; numbers: whom to call.
    """

    slug: str
    title: str
    standing: str
    approval: tuple[str, ...]
    parts: dict[str, Any]
    signal: str = ""
    pictograms: tuple[str, ...] = ()
    numbers: tuple[CallNumber, ...] = ()
    fire_use: str = ""
    fire_never: str = ""
    version: SheetVersion | None = None

    @property
    def is_draft(self) -> bool:
        return self.version is None

    @cached_property
    def sources(self) -> list[str]:
        """Every source named, each once, in the order of the sheet."""
        return list(dict.fromkeys(fact.source for section in self._all for fact in section.facts if fact.source))

    @property
    def ordinary(self) -> list[Lines]:
        """What is read before and during the work."""
        return [self._lines(section) for section in self._all if not section.is_if]

    @property
    def emergency(self) -> list[Lines]:
        """What is read when something goes wrong."""
        return [self._lines(section) for section in self._all if section.is_if]

    @property
    def has_unsure(self) -> bool:
        return any(not fact.source or fact.from_memory for section in self._all for fact in section.facts)

    @cached_property
    def _all(self) -> list[Section]:
        return sorted(facts.sections(self.parts), key=lambda section: section.is_if)

    def _lines(self, section: Section) -> Lines:
        numbered = {source: number for number, source in enumerate(self.sources, 1)}
        return Lines(section, tuple(Line(fact, numbered.get(fact.source)) for fact in section.facts))

    @cached_property
    def code(self) -> SafeString:
        return draw(self.address, title=f"A code that opens {self.address}")


def paper_of_version(
    version: SheetVersion, *, standing: str, address: str, numbers: Sequence[CallNumber], label: Any = None
) -> SheetPaper:
    """The paper of an approved version. Its sheet and who approved it must be at hand.

    standing: "" if it is in force; label: of its substance, None where it has none.
    """
    lines = [f"Version {version.number}, approved by {version.by.name} on {in_full(clock.day_of(version.at))}"]
    if version.until is not None:
        lines.append(f"Holds until {in_full(version.until)}")
    return SheetPaper(
        address=address,
        slug=version.sheet.slug,
        title=version.title,
        standing=standing,
        approval=tuple(lines),
        parts=version.parts,
        numbers=tuple(numbers),
        version=version,
        **_of_substance(version.sheet.substance, label),
    )


def paper_of_draft(sheet: HazardSheet, *, address: str, numbers: Sequence[CallNumber], label: Any = None) -> SheetPaper:
    """The paper of what is being written, which is in force for nobody."""
    by = f" by {sheet.draft_by.name}" if sheet.draft_by else ""
    when = f" on {in_full(clock.day_of(sheet.draft_at))}" if sheet.draft_at else ""
    line = f"Last written{by}{when}" if by or when else "Starter content, not yet looked through in this room"
    return SheetPaper(
        address=address,
        slug=sheet.slug,
        title=sheet.title,
        standing="Draft",
        approval=(line,),
        parts=sheet.draft,
        numbers=tuple(numbers),
        **_of_substance(sheet.substance, label),
    )


def _of_substance(substance: Substance | None, label: Any) -> dict[str, Any]:
    """What its substance and its label bring to a sheet."""
    if substance is None or label is None:
        return {}
    return {
        "signal": label.signal,
        "pictograms": tuple(label.pictograms),
        "fire_use": substance.fire_use,
        "fire_never": substance.fire_never,
    }


def sheet_pdf(one: SheetPaper, *, room: Room, page_size: str) -> bytes:
    """The paper as a PDF: the kept one, else made now, and kept unless it is a draft.

    Raises paper.PaperMissing where it would have to be made and the machine can't.
    """
    file = _file_of(one, room=room, page_size=page_size)
    if file is not None:
        try:
            return file.read_bytes()
        except FileNotFoundError:
            pass
    made = lay_out(one, room=room, page_size=page_size).pdf()
    if file is not None:
        keep(file, made)
        _clear_but_newest(file.parent)
    return made


def lay_out(one: SheetPaper, *, room: Room, page_size: str) -> paper.LaidOut:
    """The paper set in type: on one page if that can be had."""
    given = {"room": room, "sheet": one}
    return paper.lay_out("print/sheet.html", given, page_size, on_one=True, begin=_begin(one), accessible=True)


def _begin(one: SheetPaper) -> int:
    """How small the type is that can hold so much, so that what cannot fit is not set at all. Found by trying."""
    lines = [fact for section in facts.sections(one.parts) for fact in section.facts]
    much = sum(len(fact.text) + 40 for fact in lines) + 120 * len(one.parts) + sum(map(len, one.sources)) // 2
    return sum(much > most for most in _MOST)


def fingerprint(one: SheetPaper, *, room: Room) -> str:
    """Of everything that stands on the paper; 20 hex digits."""
    numbers = [(number.name, number.number, number.when) for number in one.numbers]
    told = [EDITION, room.name, one.address, one.title, one.standing, one.approval, one.signal, one.pictograms]
    told += [one.fire_use, one.fire_never]
    return hashlib.sha256(repr([*told, numbers, one.parts]).encode()).hexdigest()[:20]


def _file_of(one: SheetPaper, *, room: Room, page_size: str) -> Path | None:
    if one.version is None:
        return None
    name = f"{page_size.lower()}-{fingerprint(one, room=room)}.pdf"
    return Path(settings.MEDIA_ROOT) / "hazard-sheets" / str(one.version.pk) / name


def keep(file: Path, made: bytes) -> None:
    """Put it there whole: two that make it at once each put a whole one."""
    file.parent.mkdir(parents=True, exist_ok=True)
    fresh = file.with_name(f"{uuid4().hex}.part")
    fresh.write_bytes(made)
    os.replace(fresh, file)


def _clear_but_newest(folder: Path) -> None:
    """What is no longer asked for does not pile up."""
    by_age = sorted(folder.glob("*.pdf"), key=lambda file: file.stat().st_mtime, reverse=True)
    for file in by_age[_KEPT:]:
        file.unlink(missing_ok=True)
