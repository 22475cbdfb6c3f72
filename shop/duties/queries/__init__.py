"""Everything that is read of duties and meters, by topic."""

from shop.duties.queries.due import DueLists, due_lists, due_now, duty_that_resets, in_full, is_due, is_late
from shop.duties.queries.entries import (
    Record,
    Series,
    entries,
    entry_in_full,
    entry_lines,
    history,
    last_readings,
    put_offs_of,
    readings_of,
    record_of,
    step_lines,
    steps,
    steps_of,
    touched_lines,
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
    "entries",
    "entry_in_full",
    "entry_lines",
    "first_of_month",
    "history",
    "in_full",
    "is_due",
    "is_late",
    "last_readings",
    "meter",
    "month_of",
    "put_offs_of",
    "readings_of",
    "record_of",
    "state_of",
    "states",
    "step_lines",
    "steps",
    "steps_of",
    "ticks_of",
    "touched_lines",
]
