"""Learned lead times: with many orders, the log-normal that lifelines fits to the same days, some still open."""

import math
from statistics import NormalDist

import numpy as np
import pytest

from shop.calc.demand import lead_time
from tests.published.oracles import oracle, quietly


def test_with_many_orders_it_is_lifelines_fit() -> None:
    rng = np.random.default_rng(6)
    days = np.rint(45 * np.exp(0.3 * rng.normal(size=400))).astype(int)
    seen = rng.integers(20, 120, 400)
    ended = days <= seen
    with quietly():
        fit = oracle("lifelines").LogNormalFitter().fit(np.minimum(days, seen), ended)
    ours = lead_time(days[ended].tolist(), still_open=seen[~ended].tolist(), promised_days=30)
    assert 40 < len(seen[~ended]) < 200
    for q in (0.05, 0.25, 0.5, 0.75, 0.95):
        theirs = math.exp(fit.mu_ + fit.sigma_ * NormalDist().inv_cdf(q))
        assert ours.quantile(q) == pytest.approx(theirs, abs=1)
