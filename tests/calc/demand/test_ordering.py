"""Reorder points and order quantities: what always holds, and refusals."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.demand import (
    RQ_METHODS,
    base_stock,
    eoq,
    eoq_with_backorders,
    eoq_with_discounts,
    lead_time_demand,
    newsvendor,
    newsvendor_discrete,
    newsvendor_poisson,
    reorder_point,
    rq_cost,
    rq_normal,
    rq_poisson,
)
from shop.calc.demand.loss import unit_normal_loss
from shop.calc.demand.reorder import METHODS

BOOK = (8, 0.225, 7.5, 1300, 1300 / 12, 150 / math.sqrt(12))


def test_a_higher_service_orders_sooner() -> None:
    for method in METHODS:
        points = [reorder_point(10, 3, service, method=method, quantity=20) for service in (0.8, 0.9, 0.99)]
        levels = [point.level for point in points]
        assert levels == sorted(levels)
        assert [point.method for point in points] == [method] * 3
        assert all(point.safety == pytest.approx(point.level - 10) for point in points)


def test_the_fill_rate_is_met_just() -> None:
    point = reorder_point(100, 25, 0.98, method="fill_normal", quantity=100)
    assert 1 - 25 * unit_normal_loss(point.z) / 100 == pytest.approx(0.98)


def test_nothing_unsure_needs_no_safety() -> None:
    assert reorder_point(10, 0, 0.99).level == 10
    assert reorder_point(10, 0, 0.99, method="fill_normal", quantity=5).level == 10
    assert reorder_point(0, 0, 0.99, method="cycle_poisson").level == 0


def test_a_fill_rate_can_be_so_low_that_an_order_may_wait() -> None:
    assert reorder_point(100, 1e-3, 0.01, method="fill_normal", quantity=1000).level < 0


def test_an_unsure_lead_time_adds_to_the_spread() -> None:
    assert lead_time_demand(25, 3, 10).sd == pytest.approx(3 * math.sqrt(10))
    assert lead_time_demand(25, 0, 10, 2).sd == pytest.approx(50)
    assert lead_time_demand(25, 3, 10, 2).mean == 250


def test_the_economic_quantity_costs_least() -> None:
    best = eoq(8, 0.225, 1300)

    def cost(quantity: float) -> float:
        return 8 * 1300 / quantity + 0.225 * quantity / 2

    assert cost(best.quantity) == pytest.approx(best.cost)
    assert cost(best.quantity * 1.01) > best.cost < cost(best.quantity * 0.99)
    assert eoq_with_backorders(8, 0.225, 5, 1300).cost < best.cost
    assert eoq_with_backorders(8, 0.225, 1e9, 1300).quantity == pytest.approx(best.quantity, rel=1e-6)


def test_a_discount_is_taken_only_if_it_pays() -> None:
    assert eoq_with_discounts(8, 0.3, 1300, [0], [0.75]).region == 0
    assert eoq_with_discounts(8, 0.3, 1300, [0, 100_000], [0.75, 0.74]).region == 0
    assert eoq_with_discounts(8, 0.3, 1300, [0, 400], [0.75, 0.40]).region == 1


def test_the_best_stock_costs_least() -> None:
    best = newsvendor(0.18, 0.7, 50, 8)
    for other in (best.stock - 0.5, best.stock + 0.5):
        assert newsvendor(0.18, 0.7, 50, 8, other).cost > best.cost
    assert base_stock(0.18, 0.7, 50, 8) == best
    whole = newsvendor_poisson(1, 4, 6)
    chances = {k: math.exp(-6) * 6**k / math.factorial(k) for k in range(60)}
    drawn = newsvendor_discrete(1, 4, chances)
    assert (drawn.stock, drawn.cost) == pytest.approx((whole.stock, whole.cost))


def test_of_all_methods_the_loss_function_comes_nearest_the_best() -> None:
    costs = {method: rq_normal(*BOOK, method=method).cost for method in RQ_METHODS}
    best = min(rq_cost(120 + r / 10, 320 + q / 2, *BOOK) for r in range(150) for q in range(40))
    assert min(costs, key=lambda method: costs[method]) == "loss_function"
    assert costs["loss_function"] == pytest.approx(best, rel=1e-4)


def test_the_poisson_pair_is_the_cheapest_of_all_pairs() -> None:
    """Every pair in reach, its cost summed position by position."""
    from shop.calc.demand import poisson_loss

    k, h, p, demand, lead = 20.0, 2.0, 15.0, 3.0, 1.5
    best = rq_poisson(k, h, p, demand, lead)

    def rate(position: int) -> float:
        if position < 0:
            return p * (demand * lead - position)
        loss = poisson_loss(position, demand * lead)
        return h * loss.over + p * loss.short

    costs = {
        (r, q): (k * demand + sum(rate(r + y) for y in range(1, q + 1))) / q
        for r in range(-5, 15)
        for q in range(1, 25)
    }
    assert (best.reorder, best.quantity) == min(costs, key=lambda pair: costs[pair])
    assert best.cost == pytest.approx(min(costs.values()))


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: reorder_point(10, 3, 1), "service"),
        (lambda: reorder_point(10, -3, 0.9), "sd"),
        (lambda: reorder_point(10, 3, 0.9, method="hope"), "method"),  # type: ignore[arg-type]
        (lambda: reorder_point(10, 3, 0.9, method="fill_normal"), "quantity"),
        (lambda: lead_time_demand(1, 1, -1), "lead_periods"),
        (lambda: eoq(0, 1, 1), "fixed_cost"),
        (lambda: eoq_with_backorders(1, 1, 0, 1), "waiting_cost"),
        (lambda: eoq_with_discounts(1, 1, 1, [1], [1]), "breaks"),
        (lambda: eoq_with_discounts(1, 1, 1, [0, 5, 5], [1, 1, 1]), "breaks"),
        (lambda: eoq_with_discounts(1, 1, 1, [0, 5], [1]), "prices"),
        (lambda: newsvendor(1, 0, 50, 8), "short_cost"),
        (lambda: newsvendor(1, 1, 50, 0), "sd"),
        (lambda: newsvendor_discrete(1, 1, {1: 0.5}), "chances"),
        (lambda: base_stock(1, 1, 50, 8, -1), "lead_periods"),
        (lambda: rq_normal(*BOOK, method="hope"), "method"),  # type: ignore[arg-type]
        (lambda: rq_normal(1e6, 1, 1, 1, 10, 3, method="expected_inventory"), "waiting_cost"),
        (lambda: rq_cost(1, 0, *BOOK), "quantity"),
        (lambda: rq_poisson(1, 1, 1, 0, 1), "demand"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()


money = st.floats(0.01, 1e4)


@given(
    fixed=money,
    holding=money,
    waiting=money,
    demand=st.floats(0.1, 1e4),
    mean=st.floats(0, 1e4),
    sd=st.floats(0.01, 1e3),
)
def test_no_pair_is_nan(fixed: float, holding: float, waiting: float, demand: float, mean: float, sd: float) -> None:
    for method in RQ_METHODS[:3]:
        found = rq_normal(fixed, holding, waiting, demand, mean, sd, method=method)
        assert all(math.isfinite(each) for each in found)
        assert found.quantity > 0


@given(mean=st.floats(0, 1e6), sd=st.floats(0, 1e6), service=st.floats(1e-6, 1 - 1e-9), quantity=st.floats(1e-3, 1e6))
def test_no_reorder_point_is_nan(mean: float, sd: float, service: float, quantity: float) -> None:
    for method in METHODS:
        assert math.isfinite(reorder_point(mean, sd, service, method=method, quantity=quantity).level)
