"""Demand and ordering against Snyder and Shen's examples, textbooks, and SciPy.

"Snyder and Shen": Fundamentals of Supply Chain Theory, 2nd ed. 2019, as the stockpyl package 1.0.2 gives their
examples; those of 3.1 and 4.3 were seen on its documentation's page, the rest in its docstrings, and all were computed
again.

Of their examples these are of no use here, for the program reckons nothing of the kind: 3.9 (Wagner and Whitin's plan
over periods of known demand), 4.8 (the power approximation of s and S). 4.7 (s and S by the exact method) is a check of
the losses that it rests on, and the production quantity one of the order quantity that it is with another holding cost.
"""

import math

import pytest
from scipy.stats import nbinom, norm, poisson

from shop.calc.demand import (
    DemandForecast,
    base_stock,
    croston,
    eoq,
    eoq_with_backorders,
    eoq_with_discounts,
    lead_time_demand,
    newsvendor,
    newsvendor_discrete,
    newsvendor_poisson,
    normal_loss,
    poisson_fill_rate,
    poisson_loss,
    poisson_ready_rate,
    reorder_point,
    rq_cost,
    rq_normal,
    rq_poisson,
    sba,
    tsb,
    unit_normal_loss,
)

# Economic quantities --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fixed", "holding", "demand", "quantity", "cost"),
    [
        (8, 0.225, 1300, 304.0467800264368, 68.41052550594829),
        (2250, 275, 182500, 1728.1098449935514, 475230.2073732266),
    ],
)
def test_eoq(fixed: float, holding: float, demand: float, quantity: float, cost: float) -> None:
    """Snyder and Shen, example 3.1 and problem 3.1."""
    found = eoq(fixed, holding, demand)
    assert (found.quantity, found.cost) == pytest.approx((quantity, cost), rel=1e-12)


def test_eoq_with_backorders() -> None:
    """Snyder and Shen, example 3.8."""
    found = eoq_with_backorders(8, 0.225, 5, 1300)
    assert found == pytest.approx((310.81255515896464, 66.92136355097325, 0.0430622009569378), rel=1e-12)


def test_production_quantity() -> None:
    """economic_production_quantity(8, .225, 1300, 1700): an order quantity of which a part is used while it is made."""
    found = eoq(8, 0.225 * (1 - 1300 / 1700), 1300)
    assert (found.quantity, found.cost) == pytest.approx((626.8084945889684, 33.183979125298336), rel=1e-12)


def test_eoq_with_discounts() -> None:
    """Snyder and Shen, example 3.5 and problem 3.12."""
    assert eoq_with_discounts(8, 0.3, 1300, [0, 400, 800], [0.75, 0.72, 0.68]) == pytest.approx((800, 2, 978.6))
    found = eoq_with_discounts(2250, 0.25, 182500, [0, 1200, 2400], [1490, 1220, 1100])
    assert found == pytest.approx((2400, 2, 201251093.75), rel=1e-12)


# One period -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("over", "short", "mean", "sd", "stock", "cost"),
    [
        (0.18, 0.70, 50, 8, 56.60395592743389, 1.9976051931766445),
        (43, 79, 900, 60, 922.7214038234755, 2718.196781782411),
    ],
)
def test_newsvendor(over: float, short: float, mean: float, sd: float, stock: float, cost: float) -> None:
    """Snyder and Shen, example 4.1 = 4.3 and problem 4.1; z of the first .8254944909."""
    found = newsvendor(over, short, mean, sd)
    assert (found.stock, found.cost) == pytest.approx((stock, cost), rel=1e-12)
    if sd == 8:
        assert (found.stock - mean) / sd == pytest.approx(0.8254944909, abs=5.01e-11)
        assert newsvendor(over, short, mean, sd, 60).cost == pytest.approx(2.156131552870387, rel=1e-12)


@pytest.mark.parametrize(
    ("price", "cost", "salvage", "sd", "stock", "profit"),
    [
        (1, 0.3, 0.12, 8, 56.60395592743389, 33.002394806823354),
        (7, 2.5, 1.5, 10, 59.084578685373856, 210.47680825231475),
    ],
)
def test_newsvendor_with_prices(
    price: float, cost: float, salvage: float, sd: float, stock: float, profit: float
) -> None:
    """Snyder and Shen, example 4.2 and problem 4.3b, mean 50."""
    found = newsvendor(cost - salvage, price - cost, 50, sd)
    assert found.stock == pytest.approx(stock, rel=1e-12)
    assert (price - cost) * 50 - found.cost == pytest.approx(profit, rel=1e-12)


def test_newsvendor_discrete() -> None:
    """Snyder and Shen, problem 4.7b."""
    chances = {1: 0.25, 2: 0.05, 3: 0.10, 4: 0.20, 5: 0.15, 6: 0.10, 7: 0.10, 8: 0.05}
    found = newsvendor_discrete(5e5, 1e6, chances)
    assert (found.stock, found.cost) == pytest.approx((5, 1225000))


@pytest.mark.parametrize(
    ("over", "short", "mean", "stock", "cost"),
    [(1, 4, 6, 8, 3.570106945770938), (0.18, 0.70, 50, 56, 1.797235211809177)],
)
def test_newsvendor_poisson(over: float, short: float, mean: float, stock: float, cost: float) -> None:
    """stockpyl's newsvendor_poisson, docstring values."""
    found = newsvendor_poisson(over, short, mean)
    assert (found.stock, found.cost) == pytest.approx((stock, cost), rel=1e-12)


def test_base_stock_with_a_lead_time() -> None:
    """Snyder and Shen, example 4.4: lead time 4, so demand over 5 periods."""
    found = base_stock(0.18, 0.70, 50, 8, 4)
    assert (found.stock, found.cost) == pytest.approx((264.76689437415484, 4.466781004149577), rel=1e-12)


# Reorder point and quantity together ----------------------------------------------------------------------------------

#: Example 5.1: fixed, holding, waiting, demand a year (sd 150), mean and sd over a lead time of a month
BOOK = (8, 0.225, 7.5, 1300, 1300 / 12, 150 / math.sqrt(12))


def test_rq_cost() -> None:
    """Snyder and Shen, example 5.1: cost at (126.8, 328.5)."""
    assert rq_cost(126.8, 328.5, *BOOK) == pytest.approx(78.07116250928294, rel=1e-10)


@pytest.mark.parametrize(
    ("method", "reorder", "quantity"),
    [
        ("loss_function", 126.8670634, 328.4491422),
        ("eoq_safety_stock", 190.3369966, 304.0467800),
        ("eoq_backorders", 128.6378144, 308.5737801),
        ("expected_inventory", 213.9704421, 318.5901811),
    ],
)
def test_rq_by_each_method(method: str, reorder: float, quantity: float) -> None:
    """Snyder and Shen, example 5.1, by four approximations; a figure means nothing without its method's name."""
    found = rq_normal(*BOOK, method=method)  # type: ignore[arg-type]
    assert (found.reorder, found.quantity) == pytest.approx((reorder, quantity), abs=1e-7)


def test_rq_cost_as_the_expected_inventory_method_counts_it() -> None:
    """Snyder and Shen, example 5.1: 95.4511402, with waiting costed per piece; the exact cost of that pair is lower."""
    k, h, p, demand, mean, sd = BOOK
    found = rq_normal(*BOOK, method="expected_inventory")
    own = h * (found.reorder - mean + found.quantity / 2) + demand / found.quantity * (
        k + p * normal_loss(found.reorder, mean, sd).short
    )
    assert own == pytest.approx(95.4511402, abs=6e-8)
    assert found.cost < own


def test_exact_s_and_s_by_our_losses() -> None:
    """Example 4.7: holding 1, waiting 4, fixed cost 5, demand of a period Poisson with mean 6: s 4, S 10, 8.0341.

    By renewal over the periods of a cycle, each costed by the expected rest and the expected shortage.
    """
    chance = [float(poisson.pmf(count, 6)) for count in range(40)]
    visits = [1 / (1 - chance[0])]  # how often a cycle stands so far below S
    for below in range(1, 25):
        visits.append(sum(chance[used] * visits[below - used] for used in range(1, below + 1)) * visits[0])

    def period(stock: int) -> float:
        if stock < 0:
            return 4 * (6 - stock)
        loss = poisson_loss(stock, 6)
        return loss.over + 4 * loss.short

    def cost(low: int, high: int) -> float:
        below = range(high - low)
        return (5 + sum(visits[j] * period(high - j) for j in below)) / sum(visits[j] for j in below)

    costs = {(low, high): cost(low, high) for low in range(-3, 9) for high in range(low + 1, 20)}
    best = min(costs, key=lambda pair: costs[pair])
    assert best == (4, 10)
    assert costs[best] == pytest.approx(8.034111561471642, rel=1e-9)


def test_rq_poisson() -> None:
    """Snyder and Shen, example 5.8."""
    assert rq_poisson(100, 20, 150, 1.5, 2) == pytest.approx((3, 5, 107.92358063314975), rel=1e-12)


# Reorder points in textbooks, with rounded z as printed and exact z ---------------------------------------------------


def test_stevenson_example_8() -> None:
    """Stevenson, Operations Management 14e, ch. 12 ex. 8 (p. 528): 50 t, sd 5, risk 3 %: z 1.88, 9.40, 59.40."""
    found = reorder_point(50, 5, 0.97)
    assert (found.z, found.safety, found.level) == pytest.approx((1.88, 9.40, 59.40), abs=6e-3)
    assert found.level == pytest.approx(59.403968, abs=5.01e-7)


def test_stevenson_lead_time_unsure() -> None:
    """Solved problem p. 543: 600 a day, 6 days, sd 2 days, 90 %: z 1.28, 5136, 8.56 days' supply."""
    demand = lead_time_demand(600, 0, 6, 2)
    found = reorder_point(*demand, 0.90)
    assert demand.mean + 1.28 * demand.sd == pytest.approx(5136)
    assert found.level == pytest.approx(5137.861879, abs=5.01e-7)
    assert found.level / 600 == pytest.approx(8.56, abs=5e-3)


def test_stevenson_both_unsure() -> None:
    """Same page: 25 a day sd 3, 10 days sd 2, 95 %, z 1.65: 334 (sd 50.892043, 333.971870)."""
    demand = lead_time_demand(25, 3, 10, 2)
    assert demand.sd == pytest.approx(50.892043, abs=5.01e-7)
    assert demand.mean + 1.65 * demand.sd == pytest.approx(333.971870, abs=5.01e-7)
    assert reorder_point(*demand, 0.95).level == pytest.approx(333.709961, abs=5.01e-7)


def test_russell_and_taylor() -> None:
    """Ch. 16, carpet store: 30 a day sd 5, 10 days, 95 %, z 1.65: 26.1, 326.1 (printed, from memory)."""
    demand = lead_time_demand(30, 5, 10)
    assert 1.65 * demand.sd == pytest.approx(26.088791, abs=5.01e-7)
    found = reorder_point(*demand, 0.95)
    assert found.level == pytest.approx(326.007419, abs=5.01e-7)
    assert found.level == pytest.approx(326.1, abs=0.1)


def test_heizer_and_render() -> None:
    """Ch. 12, surgery packs: 60 a week, 6 weeks sd 2, 90 %: 513.6, rounded up to 514."""
    demand = lead_time_demand(60, 0, 6, 2)
    assert demand.mean + 1.28 * demand.sd == pytest.approx(513.6)
    found = reorder_point(*demand, 0.90).level
    assert found == pytest.approx(513.786188, abs=5.01e-7)
    assert math.ceil(found) == 514


@pytest.mark.parametrize(
    ("service", "z"),
    [(0.80, 0.8416), (0.85, 1.0364), (0.90, 1.2816), (0.95, 1.6449), (0.97, 1.8808), (0.975, 1.9600), (0.98, 2.0537),
     (0.99, 2.3263), (0.995, 2.5758), (0.999, 3.0902)],
)  # fmt: skip
def test_exact_z(service: float, z: float) -> None:
    """Textbooks print 1.65 (some 1.645) for 95 %; exact 1.644854. And scipy.stats.norm."""
    found = reorder_point(0, 1, service).z
    assert found == pytest.approx(z, abs=5.01e-5)
    assert found == pytest.approx(norm.ppf(service), rel=1e-12)


# Loss functions and fill rates ----------------------------------------------------------------------------------------

G = {
    0: 0.398942, 0.25: 0.286345, 0.5: 0.197797, 0.75: 0.131167, 1: 0.083315, 1.02: 0.080190, 1.28: 0.047499,
    1.3: 0.045528, 1.5: 0.029307, 1.64: 0.021137, 1.65: 0.020637, 1.96: 0.009445, 2: 0.008491, 2.05: 0.007418,
    2.33: 0.003352, 2.5: 0.002004, 3: 0.000382, -1: 1.083315,
}  # fmt: skip


@pytest.mark.parametrize(("z", "loss"), G.items())
def test_unit_normal_loss(z: float, loss: float) -> None:
    """Computed with SciPy, and stockpyl's standard_normal_loss; definition: planetmath, "unit normal loss function"."""
    assert unit_normal_loss(z) == pytest.approx(loss, abs=5.01e-7)
    assert unit_normal_loss(z) == pytest.approx(norm.pdf(z) - z * norm.sf(z), rel=1e-9)


def test_one_printed_row_of_the_loss_table() -> None:
    """z 2.42: phi .0213, Phi .9922, L .0026."""
    assert unit_normal_loss(2.42) == pytest.approx(0.0026, abs=5e-5)
    assert unit_normal_loss(-1) == pytest.approx(unit_normal_loss(1) + 1)


def test_losses_in_docstrings() -> None:
    """stockpyl: normal_loss(18.6, 15, 3) and poisson_loss(18, 15)."""
    assert normal_loss(18.6, 15, 3) == pytest.approx((0.1683073521514889, 3.7683073521514903), rel=1e-12)
    assert poisson_loss(18, 15) == pytest.approx((0.5176095282584724, 3.5176095282584723), rel=1e-12)


def test_fill_rate_with_orders_of_a_size() -> None:
    """Nahmias, mustard: N(100, 25), 100 at a time, 98 %: z 1.02, R 126; 151 for a cycle service (book, from memory).

    G .08, z 1.021239, R 125.530972 and 151.343723 computed.
    """
    fill = reorder_point(100, 25, 0.98, method="fill_normal", quantity=100)
    assert unit_normal_loss(fill.z) == pytest.approx(0.08)
    assert (fill.z, fill.level) == pytest.approx((1.021239, 125.530972), abs=5.01e-7)
    assert round(fill.level) == 126
    assert reorder_point(100, 25, 0.98).level == pytest.approx(151.343723, abs=5.01e-7)


def test_fill_rate_of_the_cost_model() -> None:
    """Same, K 50, h 2, p 25, D 200: Q 110.773737, R 142.568199, fill rate .995900; computed only."""
    found = rq_normal(50, 2, 25, 200, 100, 25, method="expected_inventory")
    assert (found.quantity, found.reorder) == pytest.approx((110.773737, 142.568199), abs=6e-7)
    assert 1 - normal_loss(found.reorder, 100, 25).short / found.quantity == pytest.approx(0.995900, abs=5.01e-7)


FILLS = [
    (1, (1, 2, 3, 4), (0.367879, 0.735759, 0.919699, 0.981012), (0.735759, 0.919699, 0.981012, 0.996340),
     (0.367879, 0.103638, 0.023337, 0.004349)),
    (3, (4, 5, 6, 7), (0.647232, 0.815263, 0.916082, 0.966491), (0.815263, 0.916082, 0.966491, 0.988095),
     (0.319357, 0.134621, 0.050703, 0.017194)),
    (10, (12, 14, 16), (0.696776, 0.864464, 0.951260), (0.791556, 0.916542, 0.972958),
     (0.530916, 0.186937, 0.054738)),
]  # fmt: skip


@pytest.mark.parametrize(("mean", "stocks", "fill", "ready", "short"), FILLS)
def test_poisson_base_stock(
    mean: float, stocks: tuple[int, ...], fill: tuple[float, ...], ready: tuple[float, ...], short: tuple[float, ...]
) -> None:
    """Computed with SciPy and stockpyl. Sherbrooke's 1.000 .368 .104 .023 .004 for mean 1 (from memory) agree."""
    assert [poisson_fill_rate(stock, mean) for stock in stocks] == pytest.approx(fill, abs=5.01e-7)
    assert [poisson_ready_rate(stock, mean) for stock in stocks] == pytest.approx(ready, abs=5.01e-7)
    assert [poisson_loss(stock, mean).short for stock in stocks] == pytest.approx(short, abs=5.01e-7)
    if mean == 1:
        assert poisson_loss(0, 1).short == 1


@pytest.mark.parametrize("mean", [0.3, 4.5, 60])
@pytest.mark.parametrize("service", [0.5, 0.9, 0.99])
def test_poisson_reorder_point_of_scipy(mean: float, service: float) -> None:
    """scipy.stats.poisson.ppf."""
    assert reorder_point(mean, 0, service, method="cycle_poisson").level == poisson.ppf(service, mean)


# Intermittent demand --------------------------------------------------------------------------------------------------

#: Invented; no published short series was found.
SERIES = [0, 0, 3, 0, 1, 0, 0, 4, 0, 2, 0, 0, 0, 5, 0, 0, 2, 0, 0, 0]


def test_croston_sba_tsb() -> None:
    """Exact rational arithmetic, and statsforecast 2.1.1 with weight .1 to 10 digits.

    SBA's factor 1 - weight/2: reference of the R package forecast, pkg.robjhyndman.com/forecast.
    """
    found = croston(SERIES)
    assert (found.size, found.interval) == pytest.approx((2.94068, 2.94339), abs=5.01e-6)
    assert found.forecast == pytest.approx(0.9990792929241453, rel=1e-12)
    assert sba(SERIES).forecast == pytest.approx(0.949125328277938, rel=1e-12)
    chance = tsb(SERIES)
    assert (chance.probability, chance.size) == pytest.approx((0.2264211926, 2.94068), abs=5.01e-6)
    assert chance.forecast == pytest.approx(0.6658322725586, rel=1e-12)


def test_croston_in_sample() -> None:
    """The same: 0, 0, 1, 1, .965517 x3, 1.003436 x2, 1.003193 x4, 1.036805 x3, .999079 x3, from period 2 on."""
    expected = [0, 0, 1, 1, *[0.965517] * 3, *[1.003436] * 2, *[1.003193] * 4, *[1.036805] * 3, *[0.999079] * 3]
    assert croston(SERIES).fits == pytest.approx(expected, abs=5.01e-7)


@pytest.mark.parametrize("weeks", [1, 4.5, 12])
def test_our_forecast_is_scipys_negative_binomial(weeks: float) -> None:
    """scipy.stats.nbinom."""
    forecast = DemandForecast(SERIES)
    total = forecast.total(weeks)
    other = nbinom(forecast.shape, forecast.weeks / (forecast.weeks + weeks))
    assert total.mean == pytest.approx(other.mean(), rel=1e-10)
    assert total.sd == pytest.approx(other.std(), rel=1e-10)
    for count in (0, 1, 5, 20):
        assert total.chance_at_most(count) == pytest.approx(other.cdf(count), abs=1e-12)
    for q in (0.1, 0.5, 0.9, 0.99):
        assert total.quantile(q) == other.ppf(q)
