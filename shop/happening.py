"""Happenings: what stands in the room's calendar.

Each app registers one function that says what is to come from its own tables: bookings, care that falls due, deliveries
expected. The calendar feed (shop.watch) shows the answers. The same pattern as shop.concern, and as ignorant.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True)
class Happening:
    """One entry of the calendar.

    uid: the same for the same thing however it is changed ("cutting:booking:12"); title: a few words; start: a day for
    what takes the whole of it, or an aware moment; minutes: how long it takes, for a moment; note: a sentence or two;
    link: path of its page; is_cancelled: it was to be and now is not.
    """

    uid: str
    title: str
    start: date | datetime
    minutes: int = 0
    note: str = ""
    link: str = "/"
    is_cancelled: bool = False


Question = Callable[[datetime], Iterable[Happening]]

_questions: dict[str, Question] = {}


def register(name: str, question: Question) -> None:
    """Let `question(now)` be asked for what stands in the calendar. Registering a name again replaces it."""
    _questions[name] = question


def gather(now: datetime) -> list[Happening]:
    """All happenings as known at `now`. A question that fails fails the whole: half a calendar would mislead."""
    return [happening for question in _questions.values() for happening in question(now)]
