"""Everything that is read of duties and meters, by topic."""

from shop.duties.queries.due import DueLists, due_lists, due_now, duty_that_resets, in_full, is_due, is_late
from shop.duties.queries.entries import (
    Record,
    Series,
    entry_in_full,
    history,
    put_offs_of,
    readings_of,
    record_of,
    touched_by,
)
from shop.duties.queries.meters import MeterState, meter, state_of, states, ticks_of
from shop.duties.queries.month import Month, first_of_month, month_of

__all__ = [
    "DueLists",
    "MeterState",
    "Month",
    "Record",
    "Series",
    "due_lists",
    "due_now",
    "duty_that_resets",
    "entry_in_full",
    "first_of_month",
    "history",
    "in_full",
    "is_due",
    "is_late",
    "meter",
    "month_of",
    "put_offs_of",
    "readings_of",
    "record_of",
    "state_of",
    "states",
    "ticks_of",
    "touched_by",
]
