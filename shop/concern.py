"""Concerns: what a person should know now.

Each app registers one function that answers "what are you worried about?" from its own tables. Today's page, the
morning verdict and (later) the alerts all read the same answers, so they cannot disagree.
"""

import logging
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import IntEnum
from typing import NamedTuple, NotRequired, TypedDict

log = logging.getLogger(__name__)


class Grade(IntEnum):
    """How much a concern weighs: know it, cut with care, do not cut before it is seen to."""

    NOTE = 1
    CARE = 2
    HOLD = 3

    @property
    def word(self) -> str:
        return self.name.lower()


class Quantity(NamedTuple):
    """A quantity as it stands in a concern's text, in the room's unit, and what it is: to be told in a reader's own.

    text: as written there; kind: of shop.calc.units; value: in the stored unit of that kind, a whole number where it is
    kept in whole ones.
    """

    text: str
    kind: str
    value: float


class StoredConcern(TypedDict):
    """A concern as kept with a signed check: plain JSON. quantities: left out where there are none."""

    key: str
    grade: int
    subject: str
    headline: str
    reason: str
    what_to_do: str
    link: str
    by: str | None
    quantities: NotRequired[list[Sequence[str | float]]]


@dataclass(frozen=True)
class Concern:
    """One thing to know now.

    key: the same for the same worry from sweep to sweep ("stock:low:14-inch"); grade: note, care or hold;
    subject: what it is about, in two or three words; headline: the worry in one line; reason: the numbers behind it;
    what_to_do: the next act; link: path of the page where that is done; by: when it must be done, aware, or None;
    quantities: those in its texts that some read in another unit than the room's.
    """

    key: str
    grade: Grade
    subject: str
    headline: str
    reason: str
    what_to_do: str
    link: str
    by: datetime | None = None
    quantities: tuple[Quantity, ...] = ()

    def stored(self) -> StoredConcern:
        stored = StoredConcern(
            key=self.key,
            grade=int(self.grade),
            subject=self.subject,
            headline=self.headline,
            reason=self.reason,
            what_to_do=self.what_to_do,
            link=self.link,
            by=self.by.isoformat() if self.by else None,
        )
        if self.quantities:
            stored["quantities"] = [list(one) for one in self.quantities]
        return stored


def restored(stored: StoredConcern) -> Concern:
    """A concern as it was before `stored`."""
    by = datetime.fromisoformat(stored["by"]) if stored["by"] else None
    return Concern(
        key=stored["key"],
        grade=Grade(stored["grade"]),
        subject=stored["subject"],
        headline=stored["headline"],
        reason=stored["reason"],
        what_to_do=stored["what_to_do"],
        link=stored["link"],
        by=by,
        quantities=quantities_of(stored),
    )


def quantities_of(stored: StoredConcern) -> tuple[Quantity, ...]:
    return kept_quantities(stored.get("quantities", ()))


def kept_quantities(kept: Iterable[Sequence[str | float]]) -> tuple[Quantity, ...]:
    """Quantities as they were before they were kept as lists."""
    return tuple(
        Quantity(str(text), str(kind), value if isinstance(value, int) else float(value)) for text, kind, value in kept
    )


def told(text: str, quantities: Iterable[Quantity], say: Callable[[str, float], str]) -> str:
    """`text` of a concern with its quantities as `say(kind, value)` writes them."""
    said = {one.text: say(one.kind, one.value) for one in quantities}
    if not said:
        return text
    listed = "|".join(re.escape(one) for one in sorted(said, key=len, reverse=True))
    # no part of a longer number or word: not the "7.4 mm" of "17.4 mm"
    return re.sub(rf"(?<![\w.,\u2212\u202f])(?:{listed})(?!\w)", lambda found: said[found[0]], text)


Question = Callable[[datetime], Iterable[Concern]]

#: With the name of a question: the key of the concern that it could not be asked.
FAILED = "concern:failed:"

_questions: dict[str, Question] = {}


def register(name: str, question: Question) -> None:
    """Let `question(now)` be asked whenever concerns are gathered. Registering a name again replaces it."""
    _questions[name] = question


def gather(now: datetime, *, leave_out: Iterable[str] = ()) -> list[Concern]:
    """All concerns at `now`, gravest first, then by date and key.

    A question that fails does not hide the others: its failure is itself a concern, graded hold, for a room whose
    state is unknown is not one to cut in.
    """
    found: list[Concern] = []
    skipped = set(leave_out)
    for name, question in _questions.items():
        if name in skipped:
            continue
        try:
            found.extend(question(now))
        except Exception:
            log.exception("the concerns of %s could not be gathered", name)
            found.append(
                Concern(
                    key=f"{FAILED}{name}",
                    grade=Grade.HOLD,
                    subject=name.capitalize(),
                    headline=f"The state of {name} could not be read",
                    reason="The program met a fault while looking; the log of the server names it.",
                    what_to_do="Look at it by hand before cutting, and report the fault.",
                    link="/",
                )
            )
    return gravest_first(found)


def gravest_first(concerns: Iterable[Concern]) -> list[Concern]:
    """The order in which concerns are read: by grade, then what is now before what has a date, then by key."""
    return sorted(concerns, key=lambda c: (-c.grade, c.by.timestamp() if c.by else 0.0, c.key))


def worst(concerns: Iterable[Concern]) -> Grade | None:
    """The gravest grade among `concerns`; None if there are none."""
    return max((c.grade for c in concerns), default=None)
