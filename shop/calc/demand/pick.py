"""Which forecasting method suits an item: each is tried on the item's own past, told of each week's past only.

From up to 52 weeks spread over the history each method forecasts the use of the following lead time, as a whole
distribution F, and is scored against what came, y:

    ranked         mean of sum over n of (F(n) - [y <= n])^2, the ranked probability score (Epstein 1969), in pieces.
                   It picks: it is proper (no method gains by saying other than it believes), it judges the whole
                   distribution that the outlook is built on, and a single odd week cannot run away with it as it can
                   with the logarithm of a chance.
    pinball        the loss of ordering by the quantile at the service level; proper for that one figure, but with a few
                   dozen windows too noisy to pick by
    scaled_error   mean absolute error of the expected use, over that of "as much as in the lead time before" (as
                   Hyndman and Koehler's MASE 2006; ours is scaled by the same windows)
    bias, covered  mean error, and how often the quantile at the service level was enough

The lowest `ranked` wins; of those within 2 % of it the first named, for so small a difference is chance.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from shop.calc.bounds import chance, number, whole
from shop.calc.demand import lattice
from shop.calc.demand.methods import (
    METHOD_WORDS,
    METHODS,
    Forecast,
    MethodName,
    Rolled,
    Series,
    check_series,
    prior,
    roll,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: Weeks a method learns before it is first scored.
WARM_UP = 26
#: Weeks of lead time a window has at most: beyond half a year the windows would leave nothing to learn from.
MOST_LEAD = 26
_WINDOWS = 52
_FEWEST_WINDOWS = 8
_CELLS = 256
_TIE = 1.02


@dataclass(frozen=True)
class MethodScore:
    """How a method did in the back-test; see the head of this module. Lower is better for the first three.

    scaled_error is None if "as last time" made no error at all.
    """

    method: MethodName
    ranked: float
    scaled_error: float | None
    pinball: float
    bias: float
    covered: float


@dataclass(frozen=True)
class Picked:
    """The method picked for an item, its forecast, and why.

    reason     "back_test"; "too_short": too few weeks for one, so gamma-Poisson from the stated expectation;
               "no_history": the stated expectation alone; "stated": a what-if's own forecast
    scores     of all methods, in the order of METHODS; () without a back-test
    windows    how many lead times were forecast and scored, of lead_weeks weeks each
    expected_per_week   the stated expectation that was the prior; None if none was stated
    """

    forecast: Forecast
    scores: tuple[MethodScore, ...]
    windows: int
    lead_weeks: int
    reason: Literal["back_test", "too_short", "no_history", "stated"]
    expected_per_week: float | None

    @property
    def rests_on(self) -> str:
        """One or two sentences: how many weeks are behind it, which method, and what filled the gap."""
        weeks = "1 week" if self.forecast.weeks == 1 else f"{self.forecast.weeks} weeks"
        method = METHOD_WORDS[self.forecast.method]
        if self.reason == "stated":
            return "The use a week was stated."
        if self.reason == "no_history":
            return "No use is on record yet: this rests on the use a week that the room expects."
        if self.reason == "too_short":
            start = "" if self.expected_per_week is None else ", starting from the use a week that the room expects"
            return f"Rests on {weeks} of use, too few to compare methods: {method}{start}."
        lead = "1 week" if self.lead_weeks == 1 else f"{self.lead_weeks} weeks"
        return f"Rests on {weeks} of use. Tried on {self.windows} stretches of {lead}, the best method was {method}."


def pick_method(
    counts: Sequence[float],
    *,
    lead_weeks: int = 8,
    service: float = 0.95,
    expected_per_week: float | None = None,
    expected_weeks: float = 4.0,
) -> Picked:
    """Try all methods on one item's weekly use (oldest first, empty weeks included) and pick one.

    lead_weeks: the stretch that matters, at least 1 (above 26 it is tried at 26). service: for the quantile scores.
    expected_per_week: what the room expects to use a week, weighing expected_weeks weeks of data; must be given if
    there is no history, else ValueError.
    """
    return pick_methods(
        [counts],
        lead_weeks=[lead_weeks],
        service=[service],
        expected_per_week=[expected_per_week],
        expected_weeks=[expected_weeks],
    )[0]


def pick_methods(
    series: Sequence[Sequence[float]],
    *,
    lead_weeks: Sequence[int],
    service: Sequence[float],
    expected_per_week: Sequence[float | None],
    expected_weeks: Sequence[float],
) -> list[Picked]:
    """pick_method for many items at once: one entry per item in each argument."""
    import numpy as np

    items = len(series)
    for name, given in (
        ("lead_weeks", lead_weeks),
        ("service", service),
        ("expected_per_week", expected_per_week),
        ("expected_weeks", expected_weeks),
    ):
        if len(given) != items:
            raise ValueError(f"{name} must have as many values as series, {items}, not {len(given)}.")
    leads = [min(whole("lead_weeks", each, at_least=1, at_most=520), MOST_LEAD) for each in lead_weeks]
    levels = [chance("service", each) for each in service]
    stated = [
        None if each is None else number("expected_per_week", each, at_least=0, at_most=1e6)
        for each in expected_per_week
    ]
    weights = [number("expected_weeks", each, at_least=0.1, at_most=1000) for each in expected_weeks]
    known = check_series(series)
    for length, guess in zip(known.lengths, stated, strict=True):
        if not length and guess is None:
            raise ValueError("expected_per_week must be given where counts is empty, at least 0.")
    if not items:
        return []
    guesses = np.array([np.nan if each is None else each for each in stated])
    rolled = roll(known, *prior(known, guesses, np.array(weights)))
    windows = _windows(known.lengths, leads)
    scores = _score(known, rolled, windows, np.array(levels))
    return [
        _picked(place, int(known.lengths[place]), rolled, windows, leads[place], scores, stated[place])
        for place in range(items)
    ]


class _Windows(NamedTuple):
    """All windows of all items, flat: the item, the weeks seen before it, and its length in weeks; windows per item."""

    item: "Array"
    seen: "Array"
    weeks: "Array"
    per_item: "Array"


def _windows(lengths: "Array", leads: Sequence[int]) -> _Windows:
    import numpy as np

    item: list[int] = []
    seen: list[int] = []
    per_item = []
    for place, (length, lead) in enumerate(zip(lengths.tolist(), leads, strict=True)):
        last = length - lead - WARM_UP
        count = min(_WINDOWS, last + 1) if last + 1 >= max(_FEWEST_WINDOWS, lead) else 0
        seen.extend(WARM_UP + round(last * k / (count - 1)) for k in range(count))
        item.extend([place] * count)
        per_item.append(count)
    items = np.array(item, dtype=int)
    return _Windows(items, np.array(seen, dtype=int), np.array(leads, dtype=int)[items], np.array(per_item))


class _Scores(NamedTuple):
    """Per item means, (methods, items); naive (items,)."""

    ranked: "Array"
    error: "Array"
    pinball: "Array"
    bias: "Array"
    covered: "Array"
    naive: "Array"


def _score(known: Series, rolled: Rolled, windows: _Windows, levels: "Array") -> _Scores:
    """Score every method in every window.

    Shapes: windows flat, methods x windows. Windows of like size are worked together, in steps where counts are large.
    """
    import numpy as np

    items = len(levels)
    item, seen, weeks, per_item = windows
    sums = np.vstack([np.zeros(items), np.cumsum(known.counts, axis=0)])
    came = sums[seen + weeks, item] - sums[seen, item]
    before = sums[seen, item] - sums[np.maximum(seen - weeks, 0), item]
    rate, evidence, lumps = (each[seen, :, item].T for each in rolled)
    mean = rate * weeks
    variance = mean * lumps * (1 + weeks / evidence)
    ranked, pinball, covered = (np.zeros_like(mean) for _ in range(3))
    most = np.zeros(items)
    np.maximum.at(most, item, (mean + 5 * np.sqrt(variance)).max(axis=0, initial=0))
    grain = lattice.grain_for(most, _CELLS)
    cells = np.minimum(np.ceil(most / grain).astype(int) + 2, _CELLS)
    begin = 1
    for size in (32, 64, 128, _CELLS):
        here = (cells[item] >= begin) & (cells[item] <= size)
        begin = size + 1
        if here.any():
            step = grain[item[here]]
            found = _one_size(mean[:, here], variance[:, here], came[here], levels[item[here]], step, size)
            ranked[:, here], pinball[:, here], covered[:, here] = found

    def per(values: "Array") -> "Array":
        rows = np.array([np.bincount(item, row, minlength=items) for row in np.atleast_2d(values)])
        return rows / np.maximum(per_item, 1)

    off = mean - came
    return _Scores(per(ranked), per(np.abs(off)), per(pinball), per(off), per(covered), per(np.abs(before - came))[0])


def _one_size(
    mean: "Array", variance: "Array", came: "Array", level: "Array", grain: "Array", size: int
) -> tuple["Array", "Array", "Array"]:
    """Ranked score, pinball loss and whether the quantile was enough: each (methods, windows), in pieces.

    One pass over the lattice points, F(n) built up as it goes (see lattice), so nothing of size methods x windows x
    points is ever held.
    """
    import numpy as np

    certain, mu, odds = lattice.in_steps(mean, variance, grain)
    y = np.rint(came / grain) - certain
    # beyond the lattice F is 1, before it 0: each point between it and y counts 1
    ranked = np.maximum(-y, 0) + np.maximum(y - size, 0)
    quantile = np.zeros_like(mu)
    p = np.exp(-mu * lattice.log1p_over(odds))
    step, spread = mu / (1 + odds), odds / (1 + odds)
    reached, off, short = p.copy(), np.empty_like(p), np.empty(p.shape, dtype=bool)
    for n in range(size):
        np.subtract(reached, y <= n, out=off)
        np.multiply(off, off, out=off)
        ranked += off
        np.less(reached, level, out=short)
        quantile += short
        np.multiply(spread, n, out=off)
        off += step
        off /= n + 1
        p *= off
        reached += p
    enough = (certain + quantile) * grain
    loss = np.where(came > enough, level * (came - enough), (1 - level) * (enough - came))
    return ranked * grain, loss, (came <= enough).astype(float)


def _picked(
    place: int,
    length: int,
    rolled: Rolled,
    windows: _Windows,
    lead: int,
    scores: _Scores,
    stated: float | None,
) -> Picked:
    count = int(windows.per_item[place])
    best = 0
    table: tuple[MethodScore, ...] = ()
    if count:
        naive = float(scores.naive[place])
        table = tuple(
            MethodScore(
                method,
                ranked=float(scores.ranked[row, place]),
                scaled_error=float(scores.error[row, place]) / naive if naive > 0 else None,
                pinball=float(scores.pinball[row, place]),
                bias=float(scores.bias[row, place]),
                covered=float(scores.covered[row, place]),
            )
            for row, method in enumerate(METHODS)
        )
        limit = min(each.ranked for each in table) * _TIE
        best = next(row for row, each in enumerate(table) if each.ranked <= limit)
    forecast = Forecast(
        METHODS[best],
        per_week=float(rolled.per_week[length, best, place]),
        evidence_weeks=float(rolled.evidence_weeks[length, best, place]),
        dispersion=float(rolled.dispersion[length, best, place]),
        weeks=length,
    )
    reason: Literal["back_test", "too_short", "no_history"] = (
        "back_test" if count else "too_short" if length else "no_history"
    )
    return Picked(forecast, table, count, lead, reason, stated)
