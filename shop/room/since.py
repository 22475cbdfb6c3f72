"""What used gas since a gauge was read, and what is booked to: a higher room says so here (morning, for cutting)."""

from collections.abc import Callable, Mapping
from datetime import date

from django.db.models import Case, IntegerField, Value, When
from django.db.models.expressions import Combinable

from shop.room.models import Reading, ReadingKind

#: Given the name of a field with a moment: an expression that counts the sides cut after it, for that field's table.
SidesQuestion = Callable[[str], Combinable]

_question: SidesQuestion | None = None


def register_sides(question: SidesQuestion | None) -> None:
    """Let `question(field)` count sides, in place of whoever did so before; None for nobody."""
    global _question
    _question = question


def counted() -> Combinable:
    """How many sides were cut since a reading of the gauge, read along with it; 0 for the other kinds."""
    if _question is None:
        return Value(0)
    return Case(
        When(kind=ReadingKind.NITROGEN_BAR, then=_question("at")), default=Value(0), output_field=IntegerField()
    )


def counted_after(moment: str) -> Combinable:
    """How many sides were cut after the moment in that field of a table, read along with its rows."""
    return Value(0) if _question is None else _question(moment)


def sides_since(gauge: Reading | None) -> int:
    """The sides cut since a gauge reading that was read with `counted` as sides_since; 0 if it was never read."""
    return int(getattr(gauge, "sides_since", 0))


def sides_later(gauge: Reading) -> int:
    """The sides cut since the other moment that a gauge reading was read with, as sides_later; 0 for none."""
    return int(getattr(gauge, "sides_later", 0))


#: Given today: how many sides are still to be cut, by day; those left over from earlier days count for today.
BookedQuestion = Callable[[date], Mapping[date, int]]

_booked: BookedQuestion | None = None


def register_booked(question: BookedQuestion | None) -> None:
    """Let `question(today)` tell what is booked, in place of whoever did so before; None for nobody."""
    global _booked
    _booked = question


def sides_booked(today: date) -> Mapping[date, int]:
    """The sides still to be cut, by day from today on; empty where nobody tells."""
    return {} if _booked is None else _booked(today)
