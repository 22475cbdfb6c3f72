"""Week by week from today: what is left, what has aged, and whether stock has run out. For many items at once.

Lots are used first-expired-first-out, so all stock is one queue. R is how far up the queue use and age have come by the
end of a week: use moves it on by the week's demand, and a lot that has aged moves it at least to that lot's end. With
the rate of use known, weeks are independent and R is a Markov chain on a lattice; the rate's own doubt is averaged over
Gauss's nodes of its gamma distribution. No random draws: the same answer every time.

What is on order joins the end of the queue, so it changes nothing of R, only how far R may go. To know whether stock
has run out *by* a week, the chain is run once more for each set of orders that has come, losing whatever goes beyond.

Private to this package. Quantities are in steps of the item's grain. Week t ends at column t; column 0 is today.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from shop.calc.demand import lattice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: Points of the queue, at most.
CELLS = 256
#: Orders told apart; the later ones of an item count as one that comes last.
ORDERS = 3
#: Nodes for a look of up to so many times the evidence; with them chances are good to 1e-4 and 1e-3, beyond to 1e-2.
_NODES = ((1.5, 7), (6.0, 15), (float("inf"), 31))
_CHUNK = 32


@dataclass(frozen=True)
class Stock:
    """One item's queue, in steps of its grain.

    on_hand   usable now
    lots      (quantity, end of week in which it ages), first expired first; without those that don't age in time
    orders    (quantity, chance of being there by the middle of each week, by the end of each week), columns 0..weeks
    """

    grain: int
    on_hand: int
    lots: tuple[tuple[int, int], ...]
    orders: "tuple[tuple[int, Array, Array], ...]"

    @property
    def position(self) -> int:
        return self.on_hand + sum(quantity for quantity, _, _ in self.orders)


class Path(NamedTuple):
    """What becomes of one item's stock.

    not_out  chance of not having run out by the end of each week (weeks + 1,)
    left     chances of 0, 1, 2, ... left at the end of each week (weeks + 1, points); what is missing to 1 is short
    aged     expected loss of each lot in Stock.lots
    """

    not_out: "Array"
    left: "Array"
    aged: tuple[float, ...]

    @property
    def sound(self) -> "Array":
        """Chance that nothing is short at the end of each week (weeks + 1,)."""
        sound: Array = self.left.sum(axis=1).clip(0, 1)
        return sound


class Weekly(NamedTuple):
    """Demand of items in weeks 1..weeks: rate, evidence and dispersion in the item's unit (items,); what is booked, in
    steps of its grain, and each week's open share (items, weeks).
    """

    rate: "Array"
    evidence: "Array"
    lumps: "Array"
    booked: "Array"
    open: "Array"

    def of(self, places: list[int], weeks: int) -> "Weekly":
        rate, evidence, lumps, booked, open_ = (each[places] for each in self)
        return Weekly(rate, evidence, lumps, booked[:, :weeks], open_[:, :weeks])


def paths(stocks: list[Stock], weekly: Weekly, weeks: list[int]) -> list[Path]:
    """The path of each item over so many weeks; alike ones are worked together."""
    alike: dict[tuple[int, int, int, int], list[int]] = {}
    for place, stock in enumerate(stocks):
        size = next(each for each in (32, 64, 128, CELLS) if stock.position < each)
        nodes = next(n for times, n in _NODES if weeks[place] <= times * weekly.evidence[place])
        alike.setdefault((size, nodes, len(stock.orders), weeks[place]), []).append(place)
    found: dict[int, Path] = {}
    for (size, nodes, orders, n), places in alike.items():
        for begin in range(0, len(places), _CHUNK):
            some = places[begin : begin + _CHUNK]
            group = _Group([stocks[place] for place in some], weekly.of(some, n), size, nodes, orders)
            found.update(zip(some, group.run(), strict=True))
    return [found[place] for place in range(len(stocks))]


class _Group:
    """Items of one lattice size, number of nodes and number of orders. Axes: item, node, set of orders, point."""

    def __init__(self, stocks: list[Stock], weekly: Weekly, size: int, nodes: int, orders: int) -> None:
        import numpy as np
        from scipy.fft import next_fast_len

        self.stocks, self.weekly, self.size, self.orders = stocks, weekly, size, orders
        self.grain = np.array([each.grain for each in stocks])
        self.on_hand = np.array([each.on_hand for each in stocks])
        self.position = np.array([each.position for each in stocks])
        items, weeks = weekly.open.shape
        quantities = [order[0] for each in stocks for order in each.orders]
        self.quantities = np.array(quantities, dtype=int).reshape(items, orders)
        self.by_mid, self.by_end = (
            np.array([order[which] for each in stocks for order in each.orders]).reshape(items, orders, weeks + 1)
            for which in (1, 2)
        )
        shape = weekly.rate * weekly.evidence / weekly.lumps
        node, self.weights = lattice.rate_nodes(shape, nodes)
        self.rates = node * (weekly.lumps / weekly.evidence)[:, None]
        self.padded = next_fast_len(2 * size - 1, real=True)
        self.usual = self._kernel(self.rates, self.weekly.lumps, np.zeros(len(stocks)), self.grain)

    def _kernel(self, rates: "Array", lumps: "Array", booked: "Array", grain: "Array") -> "Array":
        """Fourier transform of a week's demand, (items, nodes, frequencies); what leaves the lattice is left out."""
        import numpy as np
        from scipy.fft import rfft

        step = grain[:, None]
        certain, mu, odds = lattice.in_steps(rates, rates * lumps[:, None], step)
        certain = certain + booked.astype(int)[:, None]
        return np.asarray(rfft(lattice.shifted(lattice.chances(mu, odds, self.size), certain), self.padded))

    def _week(self, week: int) -> "Array":
        import numpy as np

        special = np.nonzero((self.weekly.open[:, week] < 1) | (self.weekly.booked[:, week] > 0))[0]
        if not len(special):
            return self.usual
        kernel = self.usual.copy()
        share = self.weekly.open[special, week][:, None]
        kernel[special] = self._kernel(
            self.rates[special] * share,
            self.weekly.lumps[special],
            self.weekly.booked[special, week],
            self.grain[special],
        )
        return kernel

    def run(self) -> list[Path]:
        import numpy as np
        from scipy.fft import irfft, rfft

        items, weeks = self.weekly.open.shape
        sets = 2**self.orders
        # Set 0 only watches R; then, if there are orders, one for each set of those that have come, losing what is out
        state = np.zeros((items, len(self.weights[0]), 1 + (sets if self.orders else 0), self.size))
        state[:, :, :2, 0] = 1.0
        limits = self._limits()
        aged = [[0.0] * len(each.lots) for each in self.stocks]
        used = np.zeros((weeks + 1, items, self.size))
        not_out = np.ones((weeks + 1, items))
        for week in range(weeks + 1):
            if week:
                self._arrive(state, week)
                moved = rfft(state, self.padded, axis=-1)
                moved *= self._week(week - 1)[:, :, None, :]
                state = irfft(moved, self.padded, axis=-1)[..., : self.size]
            self._age(state, week, aged)
            if self.orders:
                state[:, :, 1:] *= limits[:, None]
            used[week] = np.einsum("iks,ik->is", state[:, :, 0], self.weights)
            if self.orders:
                not_out[week] = np.einsum("ikts,ik->i", state[:, :, 1:], self.weights)
        np.clip(used, 0, 1, out=used)
        left = self._left(used)
        if not self.orders:
            not_out = left.sum(axis=2)  # R only grows: not short now is never to have been
        not_out = np.minimum.accumulate(np.clip(not_out, 0, 1), axis=0)
        return [Path(not_out[:, place], left[:, place], tuple(aged[place])) for place in range(items)]

    def _limits(self) -> "Array":
        """Where R may be with each set of orders: 1 or 0, (items, sets, points)."""
        import numpy as np

        which = (np.arange(2**self.orders)[:, None] >> np.arange(self.orders)) & 1
        supply = self.on_hand[:, None] + self.quantities @ which.T
        return np.asarray(np.arange(self.size) <= supply[..., None], dtype=float)

    def _arrive(self, state: "Array", week: int) -> None:
        """Orders that come between the middles of last week and this."""
        import numpy as np

        for order in range(self.orders):
            before, now = self.by_mid[:, order, week - 1], self.by_mid[:, order, week]
            comes = np.where(before < 1, (now - before) / np.maximum(1 - before, 1e-12), 0.0)[:, None, None]
            for one in range(2**self.orders):
                if not one >> order & 1:
                    waiting, there = state[:, :, 1 + one], state[:, :, 1 + (one | 1 << order)]
                    there += comes * waiting
                    waiting *= 1 - comes

    def _age(self, state: "Array", week: int, aged: list[list[float]]) -> None:
        """Lots that age at the end of this week: note what is expected lost of each, then move R beyond them."""
        import numpy as np

        points = np.arange(self.size)
        for place, stock in enumerate(self.stocks):
            end = 0
            for lot, (quantity, ages) in enumerate(stock.lots):
                end += quantity
                if ages != week:
                    continue
                lost = np.clip(end - points, 0, quantity)
                aged[place][lot] = max(0.0, float(self.weights[place] @ (state[place, :, 0] @ lost)))
                if end:
                    behind = state[place, :, :, :end].sum(axis=-1)
                    state[place, :, :, :end] = 0.0
                    state[place, :, :, end] += behind

    def _left(self, used: "Array") -> "Array":
        """Chances of what is left at the end of each week, (weeks + 1, items, points), from those of R."""
        import numpy as np

        points = np.arange(self.size)
        from_end = self.position[:, None] - points
        within = (from_end >= 0)[None]
        left = np.where(within, np.take_along_axis(used, np.maximum(from_end, 0)[None], axis=2), 0.0)
        for order in range(self.orders):
            there = self.by_end[:, order].T[..., None]
            at = points + self.quantities[:, order, None]
            without = np.take_along_axis(left, np.minimum(at, self.size - 1)[None], axis=2) * (at < self.size)
            left = there * left + (1 - there) * without
        return left
