"""How long things last: lives that ended and lives still running, in hours.

A life is `hours` and whether it `ended` (True) or was still running, or was cut short by something else (False). One
that came into view only at an age `entered` (left-truncated) there: that it had reached that age is taken as given,
so it says nothing of lives that never did.

Whatever answers `survival(hours)` is a life law here: a Weibull with known figures, one fitted to many lives, or the
posterior that starts from the shop's own guess and works from no ended life on.
"""

from shop.calc.life.fit import Interval, WeibullFit, WeibullIntervals, fit_weibull
from shop.calc.life.kaplan_meier import LifeStep, kaplan_meier
from shop.calc.life.posterior import SURE, Band, LifePosterior, LifePrior
from shop.calc.life.replacement import LifeLaw, Replacement, age_to_replace, cost_per_hour
from shop.calc.life.trend import Crossing, hours_to_threshold
from shop.calc.life.weibull import Weibull, conditional_survival, mean_residual_life

__all__ = [
    "SURE",
    "Band",
    "Crossing",
    "Interval",
    "LifeLaw",
    "LifePosterior",
    "LifePrior",
    "LifeStep",
    "Replacement",
    "Weibull",
    "WeibullFit",
    "WeibullIntervals",
    "age_to_replace",
    "conditional_survival",
    "cost_per_hour",
    "fit_weibull",
    "hours_to_threshold",
    "kaplan_meier",
    "mean_residual_life",
]
