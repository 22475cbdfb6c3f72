"""What a day's sides take from stylus, gas and chip trap: a higher room says so here (morning)."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

#: Asked with a day: what all that is to be cut until then takes from each store, as morning.plan.Store has it.
StoresQuestion = Callable[[date], Sequence[Mapping[str, Any]]]

_question: StoresQuestion | None = None


def register_stores(question: StoresQuestion | None) -> None:
    """Let `question(day)` say how far the room's stores go, in place of whoever did so before; None for nobody."""
    global _question
    _question = question


def stores(day: date) -> Sequence[Mapping[str, Any]]:
    return _question(day) if _question is not None else []
