"""What used gas since a gauge was read: a higher room says so here (morning: the sides that cutting logged)."""

from collections.abc import Callable

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


def sides_since(gauge: Reading | None) -> int:
    """The sides cut since a gauge reading that was read with `counted` as sides_since; 0 if it was never read."""
    return int(getattr(gauge, "sides_since", 0))
