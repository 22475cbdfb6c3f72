"""The paths of stock: beside SciPy's negative binomial where a formula exists, else beside drawing at random."""

from typing import Any

import numpy as np
import pytest
from scipy.stats import nbinom

from shop.calc.demand.paths import Path, Stock, Weekly, paths

WEEKS = 26


def weekly(
    rate: float, evidence: float, lumps: float, booked: dict[int, int] | None = None, open_: float = 1.0
) -> Weekly:
    b, o = np.zeros((1, WEEKS)), np.ones((1, WEEKS))
    for week, quantity in (booked or {}).items():
        b[0, week - 1], o[0, week - 1] = quantity, open_
    return Weekly(np.array([rate]), np.array([evidence]), np.array([lumps]), b, o)


def order(quantity: int, chances: dict[int, float]) -> tuple[int, "np.ndarray[Any, Any]", "np.ndarray[Any, Any]"]:
    """An order that comes at the beginning of a week with those chances."""
    there = np.cumsum([chances.get(week, 0.0) for week in range(WEEKS + 1)])
    return quantity, there, there


def path(stock: Stock, demand: Weekly) -> Path:
    return paths([stock], demand, [WEEKS])[0]


@pytest.mark.parametrize(("rate", "evidence"), [(0.3, 24), (5, 24), (5, 4), (2, 1), (8, 300), (0.05, 12)])
def test_without_lots_or_orders_it_is_the_negative_binomial(rate: float, evidence: float) -> None:
    """Gamma-Poisson: the chance of not having run out by week t is that of demand within the stock."""
    on_hand = round(rate * 12) + 1
    close = 1e-4 if evidence >= 12 else 1e-3 if evidence >= 4 else 1e-2
    found = path(Stock(1, on_hand, (), ()), weekly(rate, evidence, 1.0))
    for week in range(1, WEEKS + 1):
        other = nbinom(rate * evidence, evidence / (evidence + week))
        assert found.not_out[week] == pytest.approx(other.cdf(on_hand), abs=close)
        left = on_hand - np.arange(on_hand + 1)
        assert found.left[week][: on_hand + 1] == pytest.approx(other.pmf(left), abs=close)


def test_what_is_booked_is_taken_for_certain() -> None:
    found = path(Stock(1, 20, (), ()), weekly(1e-9, 24, 1.0, {3: 8, 5: 13}))
    assert found.not_out[4] == pytest.approx(1)
    assert found.left[4][12] == pytest.approx(1)
    assert found.not_out[5] == pytest.approx(0, abs=1e-6)


def test_an_order_mends_being_short_but_not_having_been() -> None:
    found = path(Stock(1, 5, (), (order(30, {8: 1.0}),)), weekly(1e-9, 24, 1.0, {4: 10}))
    assert found.left[5].sum() == pytest.approx(0, abs=1e-6)  # short by five
    assert found.left[8][25] == pytest.approx(1)
    assert found.not_out[3] == pytest.approx(1)
    assert found.not_out[8] == pytest.approx(0, abs=1e-6)


def test_what_ages_is_lost_once_and_the_first_to_age_is_used_first() -> None:
    found = path(Stock(1, 30, ((10, 2), (10, 2), (5, 6)), ()), weekly(1e-9, 24, 1.0, {1: 12, 4: 3}))
    # 12 of the first 20 are used by the end of week 2, then 3 of the next 5 by the end of week 6
    assert found.aged == pytest.approx((0, 8, 2), abs=1e-6)
    assert found.left[2][10] == pytest.approx(1)
    assert found.left[6][5] == pytest.approx(1)


def drawn(stock: Stock, demand: Weekly, draws: int, seed: int) -> dict[str, Any]:
    """The same by drawing at random: lots and demands owed kept one by one."""
    rng = np.random.default_rng(seed)
    rate, evidence, lumps = demand.rate[0], demand.evidence[0], demand.lumps[0]
    rates = rng.gamma(rate * evidence / lumps, lumps / evidence, draws)
    lots = [*stock.lots, (stock.on_hand - sum(q for q, _ in stock.lots), WEEKS + 1)]
    here = np.array([[q for q, _ in lots]] * draws, dtype=float).T
    comes = [rng.choice(WEEKS + 1, draws, p=np.diff(mid, prepend=0)) for _, mid, _ in stock.orders]
    owed, out, lost = np.zeros(draws), np.zeros(draws, dtype=bool), np.zeros(len(lots))
    result: dict[str, Any] = {"out": [], "short": [], "left": []}
    extra = np.zeros(draws)
    for week in range(1, WEEKS + 1):
        for (quantity, _, _), at in zip(stock.orders, comes, strict=True):
            extra += quantity * (at == week)
        usual = rates * demand.open[0, week - 1]
        size = np.maximum(usual / (lumps - 1), 1e-12) if lumps > 1 else None
        count = rng.poisson(usual) if size is None else rng.negative_binomial(size, 1 / lumps)
        owed += count + demand.booked[0, week - 1]
        for each in (*here, extra):
            taken = np.minimum(each, owed)
            each -= taken
            owed -= taken
        out |= owed > 0
        for place, (_, ages) in enumerate(lots):
            if ages == week:
                lost[place] = here[place].mean()
                here[place] = 0
        result["out"].append(out.mean())
        result["short"].append((owed > 0).mean())
        result["left"].append(
            np.quantile(here.sum(axis=0) + extra, [0.05, 0.25, 0.5, 0.75, 0.95], method="inverted_cdf")
        )
    result["lost"] = lost[: len(stock.lots)]
    return result


CASES = {
    "lots": (Stock(1, 60, ((20, 4), (10, 9), (15, 9)), ()), weekly(3, 20, 1.0)),
    "lumpy, with an order": (Stock(1, 25, ((10, 6),), (order(40, {5: 0.3, 7: 0.5, 12: 0.2}),)), weekly(3, 20, 4.0)),
    "two orders that may cross": (
        Stock(1, 20, (), (order(30, {2: 0.2, 9: 0.8}), order(15, {4: 0.5, 6: 0.5}))),
        weekly(4, 10, 2.0, {3: 12, 6: 5}, 0.2),
    ),
    "new and unsure": (Stock(1, 30, ((30, 12),), (order(30, {6: 1.0}),)), weekly(2, 3, 2.0)),
    "three orders": (
        Stock(1, 10, ((4, 3),), (order(9, {2: 1.0}), order(8, {5: 0.5, 6: 0.5}), order(7, {8: 0.9, 20: 0.1}))),
        weekly(1.5, 24, 1.5),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_it_is_what_drawing_at_random_finds(name: str) -> None:
    stock, demand = CASES[name]
    found, other = path(stock, demand), drawn(stock, demand, 100_000, 5)
    assert 1 - found.not_out[1:] == pytest.approx(np.array(other["out"]), abs=6e-3)
    assert 1 - found.left[1:].sum(axis=1) == pytest.approx(np.array(other["short"]), abs=6e-3)
    assert found.aged == pytest.approx(other["lost"], abs=0.1)
    reached = np.cumsum(found.left, axis=1) + 1 - found.left.sum(axis=1)[:, None]
    for week, quantiles in enumerate(other["left"], start=1):
        for level, there in zip((0.05, 0.25, 0.5, 0.75, 0.95), quantiles, strict=True):
            at = int(there)
            assert reached[week][at] >= level - 6e-3
            assert at == 0 or reached[week][at - 1] <= level + 6e-3
