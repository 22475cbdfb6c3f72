"""Counts and what was found in them, carried away."""

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet

from shop.carrying.lists import Export, Lines
from shop.stock import queries
from shop.stock.exports.kept import unit_of_item
from shop.stock.filters import CountLineFilter
from shop.stock.models import CountLine, CountState


def _counts(batch: list[Any]) -> Lines:
    return [
        (
            count.pk,
            count.about,
            count.get_state_display(),
            count.lots,
            count.done,
            count.started_at,
            count.started_by.name,
        )
        for count in batch
    ]


def _count_lines(batch: list[CountLine]) -> Lines:
    """What was found of each lot, beside the ledger: as it was signed, or as it stands while that is to come."""
    signed = queries.settled_of(batch)
    compared = {one.line.pk: one for one in queries.compare(line for line in batch if line.pk not in signed)}

    def line(row: CountLine) -> Sequence[object]:
        lot, tally = row.lot, queries.last_tally(row)
        settled, beside = signed.get(row.pk), compared.get(row.pk)
        found: tuple[object, ...] = (None, None, "")
        if settled is not None:
            found = settled.expected, settled.movement.change, settled.reason
        elif beside is not None:
            found = beside.expected, beside.change, row.reason
        return (
            row.count_id,
            row.count.get_state_display(),
            lot.item.place,
            lot.item.name,
            unit_of_item(lot.item),
            lot.code,
            lot.supplier.name if lot.supplier else "",
            tally.counted if tally else None,
            tally.at if tally else None,
            tally.by.name if tally else "",
            *found,
            settled is not None and hasattr(settled.movement, "reversed_by"),
        )

    return map(line, batch)


def _lines_given_in() -> QuerySet[CountLine]:
    """Of counts that are still open nothing is told: who counts shall not know what is expected."""
    return queries.all_lines().filter(count__state__in=[CountState.GIVEN, CountState.AGREED])


COUNTS = (
    Export(
        "counts",
        "Counts",
        ("Count", "Of what", "State", "Lots", "Counted", "Begun", "By"),
        lambda query: queries.counts(),
        ("id",),
        _counts,
    ),
    Export(
        "count-lines",
        "What counts found",
        (
            "Count",
            "State",
            "Where it stands",
            "Item",
            "Unit",
            "Lot",
            "Supplier",
            "Counted",
            "When",
            "By",
            "The ledger said",
            "Difference",
            "Why",
            "Undone since",
        ),
        lambda query: CountLineFilter(query, queryset=_lines_given_in()).qs,
        ("id",),
        _count_lines,
    ),
)
