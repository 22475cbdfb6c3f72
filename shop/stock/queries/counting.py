"""Reading counts: what is still to be counted, and what was found beside what the ledger says."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Case, Exists, Max, OuterRef, Prefetch, QuerySet, Value, When
from django.db.models import Count as HowMany

from shop.stock.amounts import in_words
from shop.stock.models import Count, CountLine, Lot, Movement, MovementKind, Settled, Tally
from shop.stock.queries.picking import PICKING_ORDER

#: The order of the shelf: by where it stands, then by item, then the lot to take first.
SHELF_ORDER = ("lot__item__place", "lot__item__name", "lot__last_day", "lot__received_on", "lot_id")


def counts() -> QuerySet[Any]:
    """Every count with how many `lots` it covers and how many of them are `done`, latest first."""
    done = HowMany("lines", filter=Exists(Tally.objects.filter(line=OuterRef("lines"))))
    return Count.objects.select_related("started_by").annotate(lots=HowMany("lines"), done=done).order_by("-id")


def lots_to_count() -> QuerySet[Lot]:
    """What a count can cover: lots with something in them, held and past ones too."""
    return Lot.objects.filter(on_hand__gt=0).order_by("item__place", "item__name", *PICKING_ORDER)


def all_lines() -> QuerySet[CountLine]:
    """The lots of every count, each with its `tallies`, the latest last: two queries."""
    told = Tally.objects.select_related("by").order_by("id")
    found = CountLine.objects.select_related("count", "lot__item", "lot__supplier")
    return found.prefetch_related(Prefetch("tallies", told))


def lines(count: Count) -> QuerySet[CountLine]:
    """Those of one count in the order of the shelf."""
    return all_lines().filter(count=count).order_by(*SHELF_ORDER)


def uncounted(count: Count) -> QuerySet[CountLine]:
    """Those of its lots that nobody has counted yet."""
    return lines(count).filter(~Exists(Tally.objects.filter(line=OuterRef("pk"))))


def last_tally(line: CountLine) -> Tally | None:
    """The one that counts; no query for a line of `lines`."""
    told = list(line.tallies.all())
    return told[-1] if told else None


@dataclass(frozen=True)
class Compared:
    """A counted lot beside the ledger. expected: what the ledger says was there when it was counted, by all that is
    known now; overtaken: it was counted elsewhere and put right since, so this count says nothing any more."""

    line: CountLine
    tally: Tally
    expected: int
    overtaken: bool = False

    @property
    def change(self) -> int:
        """What the ledger has to change by. What shows the same in the units of who counted is the same: half a
        millilitre is no difference."""
        item, person = self.line.lot.item, self.tally.by
        if in_words(self.tally.counted, item, person) == in_words(self.expected, item, person):
            return 0
        return self.tally.counted - self.expected

    @property
    def is_explained(self) -> bool:
        return not self.change or bool(self.line.reason)


def compare(counted: Iterable[CountLine]) -> list[Compared]:
    """Each line of `lines` that was counted, beside the ledger: one query.

    What happened after a lot was counted does not bear on it; what happened before but was only written down since
    does, and so does undoing a mistake of before.
    """
    told = [(line, tally) for line in counted if (tally := last_tally(line)) is not None]
    if not told:
        return []
    lowest = min(tally.after_id or 0 for _, tally in told)
    lots = [line.lot_id for line, _ in told]
    since: dict[int, list[Movement]] = {}
    for movement in Movement.objects.filter(lot__in=lots, id__gt=lowest).select_related("reverses").order_by("id"):
        since.setdefault(movement.lot_id, []).append(movement)
    return [_beside(line, tally, since.get(line.lot_id, [])) for line, tally in told]


def _beside(line: CountLine, tally: Tally, written: list[Movement]) -> Compared:
    known = tally.after_id or 0
    later = [movement for movement in written if movement.pk > known]
    after = sum(movement.change for movement in later if _came_after(movement, tally, known))
    overtaken = any(MovementKind.COUNTED in (one.kind, one.reverses.kind if one.reverses else "") for one in later)
    return Compared(line, tally, line.lot.on_hand - after, overtaken)


def _came_after(movement: Movement, tally: Tally, known: int) -> bool:
    """Whether what a line of the ledger, written since the count, tells of happened after it."""
    undone = movement.reverses
    if undone is not None:
        return undone.pk > known and undone.at >= tally.at
    return movement.at >= tally.at


def settled(count: Count) -> QuerySet[Settled]:
    """What was agreed, in the order of the shelf, those that differed first."""
    found = Settled.objects.filter(tally__line__count=count).select_related(
        "tally__line__lot__item", "tally__by", "movement__item"
    )
    order = [f"tally__line__{field}" for field in SHELF_ORDER]
    return found.prefetch_related("movement__reversed_by").order_by(
        Case(When(movement__change=0, then=Value(1)), default=Value(0)), *order
    )


def settled_of(counted: Iterable[CountLine]) -> dict[int, Settled]:
    """What was agreed of these lines, by line: one query."""
    found = Settled.objects.filter(tally__line__in=list(counted)).select_related("tally", "movement__reversed_by")
    return {one.tally.line_id: one for one in found}


def agreeing_counts(movements: Iterable[Movement]) -> dict[int, int]:
    """What was counted where the ledger was right, by movement: at most one query.

    A lot counted alone held then what it holds after that line; one of a count of many may have moved since.
    """
    found = {line.pk: line.balance for line in movements if line.kind == MovementKind.COUNTED and not line.change}
    if found:
        found |= dict(Settled.objects.filter(movement__in=found).values_list("movement", "tally__counted"))
    return found


def last_movements(lots: Iterable[Lot], *, until: datetime | None = None) -> dict[int, int]:
    """The last line of each lot's ledger, by lot; of what was written down by `until`, if that is given."""
    rows = Movement.objects.filter(lot__in=[lot.pk for lot in lots])
    if until is not None:
        rows = rows.filter(recorded_at__lte=until)
    return dict(rows.order_by().values_list("lot").annotate(Max("id")))


def open_counts_of(lots: QuerySet[Lot]) -> QuerySet[Count]:
    """Counts that are not settled and cover any of these lots."""
    shared = CountLine.objects.filter(count=OuterRef("pk"), lot__in=lots.values("pk"))
    return Count.objects.filter(Exists(shared), state__in=["open", "given"]).order_by("id")
