"""The stock outlook: 200 items with ten years of weeks; and one item beside statsforecast and stockpyl, in one run."""

import random
import statistics
import time
import warnings
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shop.calc.demand import Question

WEEKS, LEAD_WEEKS, WINDOWS = 520, 8, 52


def questions(number: int = 200, seed: int = 5) -> "list[Question]":
    """Items of every kind: steady, lumpy and rare use; lots that age, orders under way, bookings; twenty suppliers."""
    from shop.calc.demand import Booked, Coming, LotLeft, Question, lead_time

    rng = random.Random(seed)
    leads = [lead_time([rng.randint(40, 75) for _ in range(6)], promised_days=49) for _ in range(20)]
    found = []
    for place in range(number):
        often, size = rng.choice([1.0, 0.6, 0.2]), rng.randint(1, 12)
        counts = [sum(rng.random() < often for _ in range(size)) for _ in range(WEEKS)]
        week = max(1, round(often * size))
        lead = leads[place % len(leads)]
        found.append(
            Question(
                counts=counts,
                lead=lead,
                lots=tuple(LotLeft(week * rng.randint(1, 8), rng.randint(20, 300)) for _ in range(3)),
                booked=tuple(Booked(rng.randint(0, 60), rng.randint(1, 6)) for _ in range(rng.randint(0, 8))),
                coming=tuple(Coming(8 * week, lead, rng.randint(0, 60)) for _ in range(rng.randint(0, 2))),
                pack=5,
                minimum=10,
                shelf_days=365,
                room=500,
            )
        )
    return found


def measure(rounds: int = 5) -> dict[str, Any]:
    """All items. And of one item: three methods tried on 52 windows of 8 weeks, and the stock for 8 weeks at 95 %.

    Ours tries a fourth method as well, scores whole distributions, and picks.
    """
    from shop.calc.demand import outlooks, pick_method

    asked = questions()
    counts = list(asked[0].counts)
    outlooks(asked[:20])
    many = [(_wall(lambda: outlooks(asked)), _cpu(lambda: outlooks(asked))) for _ in range(rounds)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        their_backtest, their_stock = _theirs(counts)
        their_backtest(), their_stock()
        pairs = [
            (
                _wall(lambda: pick_method(counts, lead_weeks=LEAD_WEEKS).forecast.total(LEAD_WEEKS).quantile(0.95)),
                _wall(their_backtest),
                _wall(their_stock),
            )
            for _ in range(rounds)
        ]
    ours, statsforecast, stockpyl = (1000 * statistics.median(each) for each in zip(*pairs, strict=True))
    return {
        "items": len(asked),
        "s": statistics.median(wall for wall, _ in many),
        "cpu_s": statistics.median(cpu for _, cpu in many),
        "one_ms": ours,
        "statsforecast_ms": statsforecast,
        "stockpyl_ms": stockpyl,
        "ratio": statistics.median(a / (b + c) for a, b, c in pairs),
    }


def _theirs(counts: list[float]) -> tuple[Callable[[], Any], Callable[[], Any]]:
    """statsforecast's back-test and forecast; stockpyl's stock for a lead time and the period after it."""
    import pandas as pd
    from statsforecast import StatsForecast
    from statsforecast.models import TSB, CrostonClassic, CrostonSBA
    from stockpyl.newsvendor import newsvendor_normal

    frame = pd.DataFrame({"unique_id": "blank", "ds": range(len(counts)), "y": counts})
    step = (len(counts) - 26 - LEAD_WEEKS) // (WINDOWS - 1)
    mean, sd = statistics.fmean(counts), statistics.stdev(counts)

    def back_test() -> Any:
        models = StatsForecast([CrostonClassic(), CrostonSBA(), TSB(alpha_d=0.1, alpha_p=0.1)], freq=1)
        models.cross_validation(df=frame, h=LEAD_WEEKS, n_windows=WINDOWS, step_size=step)
        return models.forecast(df=frame, h=LEAD_WEEKS)

    return back_test, lambda: newsvendor_normal(5, 95, mean, sd, lead_time=LEAD_WEEKS - 1)


def _wall(call: Callable[[], Any]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began


def _cpu(call: Callable[[], Any]) -> float:
    began = time.process_time()
    call()
    return time.process_time() - began
