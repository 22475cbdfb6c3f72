"""What of the advice about an edge an engineer overruled, and up to which grade."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from shop.concern import Grade


@dataclass(frozen=True)
class Word:
    """An engineer's word against one matter: up to which grade, whose, and why."""

    grade: Grade
    by: str
    why: str


@dataclass(frozen=True)
class Covered:
    """What of the advice about an edge was overruled today, by matter (queries.Matter)."""

    words: Mapping[str, Word] = field(default_factory=dict)

    @classmethod
    def of(cls, kept: Mapping[str, Any] | None) -> "Covered":
        """kept: as in Overruling.covers."""
        return cls({matter: Word(Grade(grade), by, why) for matter, (grade, by, why) in (kept or {}).items()})

    def word_on(self, matter: str, grade: Grade) -> Word | None:
        """The word that covers a matter as grave as that; None where none does."""
        word = self.words.get(matter)
        return word if word is not None and grade <= word.grade else None

    def with_words(self, graded: Iterable[tuple[str, Grade]], by: str, why: str) -> dict[str, list[Any]]:
        """What a further word on these matters leaves covered, as it is kept.

        It is a word on those that no earlier one covers; on all of them, where each was covered.
        """
        found = {matter: [int(word.grade), word.by, word.why] for matter, word in self.words.items()}
        said = list(graded)
        for matter, grade in [one for one in said if self.word_on(*one) is None] or said:
            before = self.words.get(matter)
            found[matter] = [int(max(grade, before.grade) if before else grade), by, why]
        return found
