"""Ordering beside stockpyl itself: Snyder and Shen's instances as it ships them, and figures of many sizes.

And the outlook's lead-time demand and reorder point beside the textbook's formula, SciPy and stockpyl, where the
textbook's case is one the outlook can be asked: use known, Poisson or more scattered.
"""

import math
import random
from typing import Any

import pytest
from scipy.stats import poisson

from shop.calc.demand import (
    Forecast,
    LeadTime,
    Question,
    base_stock,
    eoq,
    eoq_with_backorders,
    eoq_with_discounts,
    lead_time_demand,
    newsvendor,
    newsvendor_discrete,
    newsvendor_poisson,
    normal_loss,
    outlook,
    outlooks,
    poisson_loss,
    reorder_point,
    rq_cost,
    rq_normal,
    rq_poisson,
)
from tests.published.oracles import oracle, quietly


def theirs(module: str, function: str, *given: Any, **named: Any) -> Any:
    found = getattr(oracle(f"stockpyl.{module}"), function)
    with quietly():
        return found(*given, **named)


def instance(name: str) -> dict[str, Any]:
    found: dict[str, Any] = theirs("instances", "load_instance", name)
    return found


@pytest.mark.parametrize("name", ["example_3_1", "problem_3_1"])
def test_economic_quantities_of_the_instances(name: str) -> None:
    it = instance(name)
    ours = eoq(it["fixed_cost"], it["holding_cost"], it["demand_rate"])
    assert (ours.quantity, ours.cost) == pytest.approx(theirs("eoq", "economic_order_quantity", **it), rel=1e-12)


@pytest.mark.parametrize("name", ["example_3_5", "problem_3_12"])
def test_discounts_of_the_instances(name: str) -> None:
    it = instance(name)
    ours = eoq_with_discounts(
        it["fixed_cost"], it["holding_cost_rate"], it["demand_rate"], it["breakpoints"], it["unit_costs"]
    )
    other = theirs("eoq", "economic_order_quantity_with_all_units_discounts", **it)
    assert ours == pytest.approx(other, rel=1e-12)


@pytest.mark.parametrize("name", ["example_4_1", "example_4_3", "problem_4_1", "example_4_4"])
def test_newsvendors_of_the_instances(name: str) -> None:
    it = instance(name)
    args = it["holding_cost"], it["stockout_cost"], it["demand_mean"], it["demand_sd"]
    ours = base_stock(*args, it["lead_time"]) if it.get("lead_time") else newsvendor(*args)
    assert (ours.stock, ours.cost) == pytest.approx(theirs("newsvendor", "newsvendor_normal", **it), rel=1e-9)


def test_a_discrete_newsvendor_of_the_instances() -> None:
    it = instance("problem_4_7b")
    ours = newsvendor_discrete(it["holding_cost"], it["stockout_cost"], it["demand_pmf"])
    assert (ours.stock, ours.cost) == pytest.approx(theirs("newsvendor", "newsvendor_discrete", **it), rel=1e-12)


def test_points_and_quantities_of_the_instances() -> None:
    it = instance("example_5_8")
    ours = rq_poisson(it["fixed_cost"], it["holding_cost"], it["stockout_cost"], it["demand_mean"], it["lead_time"])
    assert ours == pytest.approx(theirs("rq", "r_q_poisson_exact", **it), rel=1e-9)
    it = instance("example_5_1")
    lead = it["lead_time"]
    book = (
        it["fixed_cost"],
        it["holding_cost"],
        it["stockout_cost"],
        it["demand_mean"],
        it["demand_mean"] * lead,
        it["demand_sd"] * math.sqrt(lead),
    )
    level, quantity = theirs("rq", "r_q_loss_function_approximation", **it)
    found = rq_normal(*book)
    assert (found.reorder, found.quantity) == pytest.approx((level, quantity), rel=1e-5)
    assert rq_cost(level, quantity, *book) == pytest.approx(theirs("rq", "r_q_cost", level, quantity, **it), rel=1e-6)


def test_figures_of_many_sizes() -> None:
    rng = random.Random(3)
    for _ in range(40):
        fixed, holding, waiting = rng.uniform(1, 500), rng.uniform(0.05, 20), rng.uniform(0.5, 100)
        demand, sd, lead = rng.uniform(5, 5000), rng.uniform(0.5, 50), rng.randint(0, 9)
        assert eoq(fixed, holding, demand)[:2] == pytest.approx(
            theirs("eoq", "economic_order_quantity", fixed, holding, demand), rel=1e-12
        )
        quantity, share, cost = theirs(
            "eoq", "economic_order_quantity_with_backorders", fixed, holding, waiting, demand
        )
        assert eoq_with_backorders(fixed, holding, waiting, demand) == pytest.approx((quantity, cost, share), rel=1e-12)
        stock, cost = theirs("newsvendor", "newsvendor_normal", holding, waiting, demand, sd, lead)
        ours = base_stock(holding, waiting, demand, sd, lead)
        assert (ours.stock, ours.cost) == pytest.approx((stock, cost), rel=1e-9)
        mean = rng.uniform(0.2, 80)
        stock, cost = theirs("newsvendor", "newsvendor_poisson", holding, waiting, mean)
        whole = newsvendor_poisson(holding, waiting, mean)
        assert (whole.stock, whole.cost) == pytest.approx((stock, cost), rel=1e-8)
        at = rng.randint(0, 120)
        assert poisson_loss(at, mean) == pytest.approx(theirs("loss_functions", "poisson_loss", at, mean), abs=1e-8)
        assert normal_loss(at, mean, sd) == pytest.approx(
            theirs("loss_functions", "normal_loss", at, mean, sd), abs=1e-8
        )


# The outlook ----------------------------------------------------------------------------------------------------------

RATES = [0.3, 1.0, 4.0, 17.0, 60.0]


def known(rate: float, dispersion: float, lead: LeadTime, service: float = 0.95) -> Question:
    """Use so well known that its rate is hardly in doubt; an order sent just when it is due."""
    return Question(
        forecast=Forecast("gamma_poisson", rate, 1e9, dispersion, 0), lead=lead, service=service, review_days=0
    )


@pytest.mark.parametrize("service", [0.8, 0.95, 0.99])
def test_with_poisson_use_and_a_known_lead_time_the_point_is_the_poisson_base_stock(service: float) -> None:
    """scipy.stats.poisson.ppf, our own reorder_point, and stockpyl's newsvendor with that critical ratio."""
    found = outlooks([known(rate, 1.0, LeadTime.known(42), service) for rate in RATES])
    for rate, each in zip(RATES, found, strict=True):
        assert each.reorder_point == poisson.ppf(service, 6 * rate)
        assert each.reorder_point == reorder_point(6 * rate, 0, service, method="cycle_poisson").level
        assert each.reorder_point == theirs("newsvendor", "newsvendor_poisson", 1 - service, service, 6 * rate)[0]
        assert each.chance_met == pytest.approx(poisson.cdf(each.reorder_point, 6 * rate), abs=1e-6)


@pytest.mark.parametrize("dispersion", [1.0, 3.0])
def test_with_an_unsure_lead_time_its_spread_is_the_textbooks(dispersion: float) -> None:
    """Stevenson, Heizer and Render: sd^2 = L sd_d^2 + d^2 sd_L^2, lead time in weeks."""
    lead = LeadTime.about(42, 14)
    found = outlooks([known(rate, dispersion, lead) for rate in RATES])
    for rate, each in zip(RATES, found, strict=True):
        book = lead_time_demand(rate, math.sqrt(dispersion * rate), lead.mean_days / 7, lead.sd_days / 7)
        assert each.lead_demand.mean == pytest.approx(book.mean, rel=1e-4)
        assert each.lead_demand.sd == pytest.approx(book.sd, rel=0.02)  # the lead time is cut into 14 parts


def test_heizer_and_renders_surgery_packs_with_use_that_is_poisson() -> None:
    """60 a week, 6 weeks sd 2, 90 %: the book's 514 is for a normal lead time and even use.

    With the same lead time by days and Poisson use the point is within two days' use of it.
    """
    normal = [math.exp(-(((day - 42) / 14) ** 2) / 2) for day in range(97)]
    lead = LeadTime(tuple(each / math.fsum(normal) for each in normal))
    assert (lead.mean_days, lead.sd_days) == pytest.approx((42, 14), abs=0.1)
    found = outlook(known(60, 1.0, lead, 0.90))
    assert found.reorder_point == pytest.approx(514, abs=17)
