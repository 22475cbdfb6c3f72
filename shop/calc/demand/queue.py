"""An item's stock as one queue, lots first-expired-first-out, and its weeks told again in the item's own unit.

Private to this package.
"""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from shop.calc.demand import lattice
from shop.calc.demand.leadtime import OVERDUE_DAYS, LeadTime
from shop.calc.demand.paths import CELLS, ORDERS, Path, Stock
from shop.calc.demand.question import Fan, LotLoss, Question, Week

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: Where a lead time's distribution is cut; each part counts as its mean.
_CUTS = (0, 0.05, 0.15, 0.3, 0.45, 0.6, 0.7, 0.8, 0.87, 0.92, 0.955, 0.975, 0.99, 0.995, 1)
_FAN = (0.05, 0.25, 0.5, 0.75, 0.95)


class Leads:
    """Lead times as arrays; those asked for twice (one supplier, many items) are worked out once."""

    def __init__(self) -> None:
        self._nodes: dict[int, Array] = {}
        self._reached: dict[int, Array] = {}

    def of(self, leads: Sequence[LeadTime]) -> tuple["Array", "Array"]:
        """Days and weights of the parts of each, (items, parts)."""
        import numpy as np

        return np.array([self._parts(each) for each in leads]), np.tile(np.diff(_CUTS), (len(leads), 1))

    def _chance_by(self, lead: LeadTime) -> "Array":
        """Chance of being there before day 0, 1, 2, ... has begun; the last is 1."""
        import numpy as np

        if id(lead) not in self._reached:
            reached = np.concatenate([[0.0], np.cumsum(lead.chances)])
            self._reached[id(lead)] = reached / reached[-1]
        return self._reached[id(lead)]

    def _parts(self, lead: LeadTime) -> "Array":
        import numpy as np

        if id(lead) not in self._nodes:
            reached = self._chance_by(lead)
            days = np.concatenate([[0.0], np.cumsum(np.diff(reached) * np.arange(len(reached) - 1))])
            self._nodes[id(lead)] = np.diff(np.interp(_CUTS, reached, days)) / np.diff(_CUTS)
        return self._nodes[id(lead)]

    def there_by(self, lead: LeadTime, sent_days_ago: int, days: "Array") -> "Array":
        """Chance that an order sent so long ago, not here yet, is here by each of those days (see LeadTime.waited)."""
        import numpy as np

        reached = self._chance_by(lead)
        last = len(reached) - 1
        before = reached[min(max(sent_days_ago, 0), last)]
        if before > 1 - 1e-9:
            found = np.clip((days + 1) / OVERDUE_DAYS, 0, 1)
        else:
            found = (reached[np.clip(days + 1 + sent_days_ago, 0, last)] - before) / (1 - before)
        return np.asarray(np.clip(found, 0, 1))


def _queue(question: Question) -> list[int]:
    """Places of lots in the order of their use: the first to age first, ties as given."""
    lots = question.lots
    return sorted(range(len(lots)), key=lambda i: math.inf if (d := lots[i].days_left) is None else d)


def _ages(days_left: int | None) -> float:
    """The end of which week from today comes nearest to the end of a lot's last usable day."""
    return math.inf if days_left is None else round((days_left + 1) / 7)


def stock_of(question: Question, weeks: int, leads: Leads) -> Stock:
    """An item's queue in steps of its grain; quantities are rounded so that their sums hold."""
    import numpy as np

    grain = int(lattice.grain_for(np.array([question.position + 1]), CELLS)[0])
    lots, total, end = [], 0, 0
    for place in _queue(question):
        total += question.lots[place].quantity
        begin, end = end, total // grain
        ages = _ages(question.lots[place].days_left)
        if ages <= weeks:
            lots.append((end - begin, int(ages)))
    week = np.arange(weeks + 1)
    orders = []
    for each in question.coming:
        mid = leads.there_by(each.lead, each.sent_days_ago, 7 * week - 4)
        by_end = leads.there_by(each.lead, each.sent_days_ago, 7 * week - 1)
        if each.quantity >= grain:
            orders.append((each.quantity // grain, mid, by_end))
    orders.sort(key=lambda order: -float(order[1].sum()))
    last = orders[ORDERS - 1 :]
    if len(last) > 1:
        together = sum(quantity for quantity, _, _ in last)
        orders[ORDERS - 1 :] = [
            (together, np.min([mid for _, mid, _ in last], axis=0), np.min([end for _, _, end in last], axis=0))
        ]
    return Stock(grain, total // grain, tuple(lots), tuple(orders))


def weeks_of(question: Question, stock: Stock, path: Path, booked: "Array", expected: "Array") -> tuple[Week, ...]:
    import numpy as np

    n = question.weeks
    reached = np.cumsum(path.left[1 : n + 1], axis=1)
    short = np.maximum(1 - reached[:, -1], 0)
    levels = np.array(_FAN)[:, None]
    fans = np.argmax((reached + short[:, None])[:, None, :] >= levels - 1e-9, axis=2) * stock.grain
    arriving = np.zeros(n)
    for quantity, _, by_end in stock.orders:
        arriving += quantity * stock.grain * np.diff(by_end[: n + 1])
    aged = np.zeros(n + 1)
    for (_, ages), lost in zip(stock.lots, path.aged, strict=True):
        if ages <= n:
            aged[ages] += lost * stock.grain
    aged[1] += aged[0]  # what today is its last day
    columns = (booked[:n], expected[:n], arriving, fans, 1 - path.not_out[1 : n + 1], short, aged[1:])
    return tuple(
        Week(number, booked_, expected_, arriving_, Fan(*fan), max(out, short_), short_, aged_)
        for number, (booked_, expected_, arriving_, fan, out, short_, aged_) in enumerate(
            zip(*(each.tolist() for each in columns), strict=True), start=1
        )
    )


def losses_of(question: Question, stock: Stock, path: Path) -> tuple[LotLoss, ...]:
    lost = dict(zip(_queue(question), path.aged, strict=False))  # lots that age in time come first
    return tuple(
        LotLoss(place, lot.quantity, min(lost.get(place, 0.0) * stock.grain, float(lot.quantity)))
        for place, lot in enumerate(question.lots)
    )
