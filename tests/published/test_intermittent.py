"""Croston, SBA and TSB beside statsforecast, on series of many kinds.

statsforecast fixes the weight of Croston and SBA at 0.1; its TSB starts the chance at the first period, as ours does.
"""

from typing import Any

import numpy as np
import pytest

from shop.calc.demand import METHODS, croston, sba, tsb
from shop.calc.demand.methods import check_series, prior, roll
from tests.published.oracles import oracle, quietly

RNG = np.random.default_rng(8)
SERIES = {
    "rare": RNG.poisson(2, 156) * (RNG.random(156) < 0.1),
    "lumpy": RNG.geometric(0.1, 156) * (RNG.random(156) < 0.3),
    "every week": RNG.poisson(9, 156) + 1,
    "dying": np.concatenate([RNG.poisson(3, 60), np.zeros(60)]),
    "begins late": np.concatenate([np.zeros(50), RNG.poisson(3, 50)]),
}


def theirs(model: Any, counts: "np.ndarray[Any, Any]") -> float:
    with quietly():
        return float(model.forecast(y=np.asarray(counts, dtype=float), h=1)["mean"][0])


@pytest.mark.parametrize("name", SERIES)
def test_forecasts_are_those_of_statsforecast(name: str) -> None:
    models = oracle("statsforecast.models")
    counts = SERIES[name]
    expected = [
        theirs(models.CrostonClassic(), counts),
        theirs(models.CrostonSBA(), counts),
        theirs(models.TSB(alpha_d=0.1, alpha_p=0.1), counts),
    ]
    given = [float(each) for each in counts]
    assert [croston(given).forecast, sba(given).forecast, tsb(given).forecast] == pytest.approx(expected, rel=1e-6)
    known = check_series([given])
    rolled = roll(known, *prior(known, np.array([np.nan]), np.array([4.0])))
    assert METHODS[1:] == ("croston", "sba", "tsb")
    assert rolled.per_week[-1, 1:, 0] == pytest.approx(expected, rel=1e-6)
