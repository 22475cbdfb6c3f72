"""What is wrong with a file, gathered: the first are named, the rest counted."""

from dataclasses import dataclass, field
from typing import Any

#: How many are named.
NAMED = 50
_LONGEST_VALUE = 60


class Refusal(Exception):
    """The file cannot be read at all. sentence: why, and what to do."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class Question(Exception):
    """The file can be read in more than one way; nothing is guessed.

    name: of the answer; choices: (value, what it means) for each way.
    """

    def __init__(self, name: str, label: str, why: str, choices: list[tuple[str, str]]) -> None:
        super().__init__(label)
        self.asked = {"name": name, "label": label, "why": why, "choices": choices}


@dataclass
class Found:
    """What was found row by row. first: as many as are named; count: of all."""

    count: int = 0
    first: list[dict[str, Any]] = field(default_factory=list)

    def add(self, row: int | None, column: str, value: object, why: str) -> None:
        """One: in which row of the file, counted as a spreadsheet counts, under which heading, what stood there."""
        self.count += 1
        if len(self.first) < NAMED:
            shown = "" if value is None else str(value)
            shown = shown if len(shown) <= _LONGEST_VALUE else f"{shown[: _LONGEST_VALUE - 1]}…"
            self.first.append({"row": row, "column": column, "value": shown, "why": why})

    def __bool__(self) -> bool:
        return self.count > 0
