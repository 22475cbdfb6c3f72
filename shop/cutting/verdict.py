"""What today's check says about cutting: a higher room says so here (morning), for whoever logs a side."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Spoken:
    """A verdict that speaks against cutting. words: as it is called; overruled_by: by whom, "" by nobody; link: where
    its reasons stand."""

    words: str
    overruled_by: str
    link: str


#: Asked with today's day; None where no check is signed, or nothing speaks against it.
VerdictQuestion = Callable[[date], Spoken | None]

_question: VerdictQuestion | None = None


def register_verdict(question: VerdictQuestion | None) -> None:
    """Let `question(day)` say what the day's check came to, in place of whoever did so before; None for nobody."""
    global _question
    _question = question


def spoken(day: date) -> Spoken | None:
    return _question(day) if _question is not None else None
