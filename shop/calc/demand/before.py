"""The chance that stock runs out at some time before an order placed today comes.

The path (paths) knows that chance at the ends of weeks. Within a week it is taken to grow as expected demand does, so
what is booked weighs on its day. The days just after bookings are looked at besides: what is wanted by then may be more
than there is, whatever the rest of the week brings. Only what can but grow with time is used, so a longer lead time
never gives a smaller chance.

Private to this package.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from shop.calc.demand import lattice
from shop.calc.demand.coming import CELLS, Demand
from shop.calc.demand.paths import Path
from shop.calc.demand.question import Question
from shop.calc.demand.queue import Leads

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: So many days with bookings of an item are looked at one by one, the first ones.
_DAYS = 8


def before_it_comes(
    questions: Sequence[Question],
    demand: Demand,
    paths: Sequence[Path],
    nodes: "Array",
    weights: "Array",
    leads: Leads,
) -> "Array":
    """For each item, with its lead time cut into parts (items, parts)."""
    import numpy as np

    weeks = max(len(each.not_out) for each in paths) - 1
    out = 1 - np.array([np.pad(each.not_out, (0, weeks + 1 - len(each.not_out)), mode="edge") for each in paths])
    until = np.clip(nodes, 1, 7 * weeks)  # what is wanted today counts, however soon the order comes
    week = np.minimum((until / 7).astype(int), weeks - 1)
    begin, end = demand.mean(7.0 * week), demand.mean(7.0 * week + 7)
    grown = np.where(end > begin, (demand.mean(until) - begin) / np.maximum(end - begin, 1e-12), until / 7 - week)
    low, high = (np.take_along_axis(out, each, axis=1) for each in (week, week + 1))
    found = low + np.clip(grown, 0, 1) * (high - low)
    days, chances = _after_bookings(questions, demand, leads)
    for column in range(days.shape[1]):
        found = np.where(until >= days[:, column, None], np.maximum(found, chances[:, column, None]), found)
    return np.asarray(np.clip((found * weights).sum(axis=1), 0, 1))


def _after_bookings(questions: Sequence[Question], demand: Demand, leads: Leads) -> tuple["Array", "Array"]:
    """The ends of the first days with bookings (items, days), and the least chance of being out by then.

    Out for sure is who has been asked for more than there is while no open order has come, or for more than all of it.
    """
    import numpy as np

    booked = [sorted({max(one.in_days, 0) + 1 for one in each.booked if one.quantity})[:_DAYS] for each in questions]
    width = max(map(len, booked), default=0)
    days = np.array([own + [np.inf] * (width - len(own)) for own in booked], dtype=float).reshape(len(booked), width)
    chances = np.zeros_like(days)
    for column in range(width):
        place = np.nonzero(np.isfinite(days[:, column]))[0]
        some, day = demand.of(place), days[place, column, None]
        own = [questions[each] for each in place.tolist()]
        supplies = np.array([[each.on_hand, each.position] for each in own])
        grain = lattice.grain_for(supplies[:, 1] + 2, CELLS)
        reached = some.chance_at_most(day, np.ones_like(day), grain, CELLS)
        cell = np.minimum(-(-supplies // grain[:, None]), CELLS - 1)
        above = 1 - np.take_along_axis(reached, cell, axis=1)
        waiting = np.array([_none_there(each, float(end), leads) for each, end in zip(own, day[:, 0], strict=True)])
        chances[place, column] = np.maximum(above[:, 0] * waiting, above[:, 1])
    return days, chances


def _none_there(question: Question, end: float, leads: Leads) -> float:
    """Chance that no open order is there by the end of the day before day `end`."""
    import numpy as np

    last, none = np.array([int(end) - 1]), 1.0
    for each in question.coming:
        if each.quantity:
            none *= 1 - float(leads.there_by(each.lead, each.sent_days_ago, last)[0])
    return none
