"""Weibull by maximum likelihood from lives that ended and lives still running."""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from statistics import NormalDist
from typing import TYPE_CHECKING, Any, NamedTuple

from shop.calc.bounds import chance, number
from shop.calc.life.lives import check_entries, check_lives
from shop.calc.life.weibull import MOST_HOURS, Weibull

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: Lives more alike than this shape says can't be told from equal ones.
_MOST_SHAPE = 1000.0
#: And below this one they are no Weibull's: with lives that entered late the likelihood may rise all the way down.
_LEAST_SHAPE = 0.05
_LOOKED_AT = 80


class Interval(NamedTuple):
    low: float
    high: float


@dataclass(frozen=True)
class WeibullIntervals:
    """Three ways to an interval; they differ, so say which one is shown.

    wald       estimate +- z se on the natural scale; its low end can fall below 0
    wald_log   the same on the logarithm's scale; always above 0
    profile    where the profile likelihood ratio reaches the chi-squared limit; best with few failures. Its high end
               for the scale is infinite if the likelihood never falls that far within a million times the estimate.
    """

    level: float
    shape_wald: Interval
    scale_wald: Interval
    shape_wald_log: Interval
    scale_wald_log: Interval
    shape_profile: Interval
    scale_profile: Interval


class _Likelihood:
    """What the likelihood needs: log hours over the longest life, so that no power can run over."""

    def __init__(self, hours: list[float], ended: list[bool], entered: list[float]) -> None:
        import numpy as np

        self.longest = max(hours)
        # a life still running at 0 hours says nothing
        self.u: NDArray[Any] = np.log([h / self.longest for h in hours if h > 0])
        # what a life had behind it when it came into view is taken off again: its hazard up to there was not seen
        self.before: NDArray[Any] = np.log([h / self.longest for h in entered if h > 0])
        self.failures = sum(ended)
        gone = [math.log(h / self.longest) for h, over in zip(hours, ended, strict=True) if over]
        self.sum_gone = math.fsum(gone)
        self.mean_gone = self.sum_gone / self.failures
        self._np = np

    def powers(self, shape: float) -> tuple[float, float, float]:
        """Sum of (t/longest)^shape, and with log t and its square as weights."""
        s0, s1, s2 = self._sums(shape, self.u)
        if not len(self.before):
            return s0, s1, s2
        b0, b1, b2 = self._sums(shape, self.before)
        return s0 - b0, s1 - b1, s2 - b2

    def _sums(self, shape: float, logs: "NDArray[Any]") -> tuple[float, float, float]:
        w = self._np.exp(shape * logs)
        wu = w * logs
        return float(w.sum()), float(wu.sum()), float((wu * logs).sum())

    def score(self, shape: float) -> float:
        """d logL / d shape along the best scale, over -failures; rises with shape where none entered late."""
        s0, s1, _ = self.powers(shape)
        return s1 / s0 - 1 / shape - self.mean_gone

    def slope(self, shape: float, log_scale: float) -> float:
        """d logL / d shape with the scale held; falls with shape. Powers that would run over are cut off."""
        held = self._held(shape, self.u - log_scale) - self._held(shape, self.before - log_scale)
        return self.failures / shape + self.sum_gone - self.failures * log_scale - held

    def _held(self, shape: float, v: "NDArray[Any]") -> float:
        return float((self._np.exp(self._np.minimum(shape * v, 600.0)) * v).sum())

    def best_scale(self, shape: float) -> float:
        """log(scale/longest) that is best for a shape."""
        return math.log(self.powers(shape)[0] / self.failures) / shape

    def loglik(self, shape: float, log_scale: float) -> float:
        """With all constants; log_scale is log(scale/longest)."""
        r = self.failures
        gone = (shape - 1) * self.sum_gone - r * shape * log_scale + r * math.log(shape) - r * math.log(self.longest)
        exponent = math.log(self.powers(shape)[0]) - shape * log_scale
        return gone - (math.exp(exponent) if exponent < 700 else math.inf)


@dataclass(frozen=True)
class WeibullFit(Weibull):
    """A fitted Weibull, with what it rests on.

    loglik includes all constants. se_shape, se_scale and cov (shape, scale) come from the observed information.
    """

    loglik: float
    se_shape: float
    se_scale: float
    cov: float
    failures: int
    running: int
    _likelihood: _Likelihood = field(repr=False, compare=False)

    @property
    def aic(self) -> float:
        """Akaike's criterion with two parameters."""
        return 4 - 2 * self.loglik

    @property
    def aicc(self) -> float:
        """Akaike's criterion corrected for few lives; infinite for three or fewer."""
        n = self.failures + self.running
        return self.aic + 12 / (n - 3) if n > 3 else math.inf

    def intervals(self, level: float = 0.95) -> WeibullIntervals:
        """Intervals for shape and scale, three ways."""
        level = chance("level", level)
        z = NormalDist().inv_cdf((1 + level) / 2)

        def wald(value: float, se: float) -> Interval:
            return Interval(value - z * se, value + z * se)

        def wald_log(value: float, se: float) -> Interval:
            factor = math.exp(min(z * se / value, 700.0))
            return Interval(value / factor, value * factor)

        return WeibullIntervals(
            level,
            wald(self.shape, self.se_shape),
            wald(self.scale, self.se_scale),
            wald_log(self.shape, self.se_shape),
            wald_log(self.scale, self.se_scale),
            self._profile_shape(z),
            self._profile_scale(z),
        )

    def _profile_shape(self, z: float) -> Interval:
        lives, most = self._likelihood, self.loglik

        def short(log_shape: float) -> float:
            shape = math.exp(log_shape)
            return 2 * (most - lives.loglik(shape, lives.best_scale(shape))) - z * z

        centre = math.log(self.shape)
        return Interval(math.exp(_cross(short, centre, -1)), math.exp(_cross(short, centre, +1)))

    def _profile_scale(self, z: float) -> Interval:
        lives, most = self._likelihood, self.loglik

        def short(log_scale: float) -> float:
            return 2 * (most - lives.loglik(_best_shape(lives, log_scale), log_scale)) - z * z

        centre = math.log(self.scale / lives.longest)
        low, high = _cross(short, centre, -1), _cross(short, centre, +1)
        return Interval(lives.longest * math.exp(low), lives.longest * math.exp(high) if high < 700 else math.inf)


def _best_shape(lives: _Likelihood, log_scale: float) -> float:
    """The shape that is best for a scale: where the likelihood, concave in the shape, stops rising."""
    from scipy.optimize import brentq

    if len(lives.before):  # then it need not be concave
        return _best_of_many(lambda shape: lives.loglik(shape, log_scale))
    low = high = 0.0
    while lives.slope(math.exp(low), log_scale) < 0:
        low -= 2
    while lives.slope(math.exp(high), log_scale) > 0:
        high += 1
    found = brentq(lambda log_shape: lives.slope(math.exp(log_shape), log_scale), low, high, xtol=1e-13)
    return math.exp(float(found))


def _best_of_many(loglik: Callable[[float], float]) -> float:
    """The shape at which a likelihood is greatest, of those looked at, refined between its neighbours."""
    from scipy.optimize import minimize_scalar

    step = (math.log(_MOST_SHAPE) - math.log(_LEAST_SHAPE)) / _LOOKED_AT
    logs = [math.log(_LEAST_SHAPE) + step * place for place in range(_LOOKED_AT + 1)]
    best = max(logs, key=lambda log_shape: loglik(math.exp(log_shape)))
    found = minimize_scalar(
        lambda log_shape: -loglik(math.exp(log_shape)), bounds=(best - step, best + step), method="bounded",
        options={"xatol": 1e-11},
    )  # fmt: skip
    return math.exp(float(found.x))


def _cross(short: Callable[[float], float], centre: float, side: int) -> float:
    """Where `short`, negative at the centre, crosses 0 to one side on a log scale; infinite if it never does."""
    from scipy.optimize import brentq

    step = 0.1
    inner, outer = centre, centre + side * step
    while short(outer) < 0:
        step *= 2
        inner, outer = outer, outer + side * step
        if abs(outer - centre) > math.log(1e6):
            return side * math.inf
    return float(brentq(short, inner, outer, xtol=1e-12))


def fit_weibull(hours: Iterable[float], ended: Iterable[bool], *, entered: Iterable[float] = ()) -> WeibullFit:
    """The Weibull most likely to have given these lives; those not ended are right-censored, those that came into view
    at an age (`entered`, hours; all from 0 on if none are given) left-truncated: f(t)/S(age), S(t)/S(age).

    The score for the shape alone has one root, found by SciPy's brentq; the scale follows in closed form (Lawless,
    Statistical Models and Methods for Lifetime Data, ch. 5, from memory). With lives that entered late there may be
    several roots, or none: the greatest maximum is taken. ValueError if there is none, if no life has ended, or none
    that ended was outlived by another (the likelihood then has no maximum), or lives are too alike for a shape up to
    1000.
    """
    times, flags = check_lives(hours, ended)
    ages = check_entries(entered, times, flags)
    if not any(flags):
        raise ValueError("ended must be true of at least one life: with none there is nothing to fit.")
    from scipy.optimize import brentq

    lives = _Likelihood(times, flags, ages)
    if not lives.mean_gone < 0 or lives.score(_MOST_SHAPE) <= 0:
        raise ValueError("hours must differ: a life that ended needs another that lasted longer, not all alike.")
    low = 1 / -lives.mean_gone  # the root lies above, since the mean of u weighted is not above 0
    if len(lives.before):
        shape = _best_of_many(lambda one: lives.loglik(one, lives.best_scale(one)))
        if not 1.01 * _LEAST_SHAPE < shape < 0.99 * _MOST_SHAPE:
            raise ValueError("hours must tell a shape: with so much of the lives out of view, none is most likely.")
    elif low < _MOST_SHAPE and lives.score(low) < 0:
        shape = float(brentq(lives.score, low, _MOST_SHAPE, xtol=1e-14, rtol=1e-14))
    else:
        shape = low
    log_scale = lives.best_scale(shape)
    scale = lives.longest * math.exp(log_scale)
    number("scale", scale, at_most=MOST_HOURS)

    # Observed information, in shape and log scale, where (t/scale)^shape sums to the failures
    s0, s1, s2 = lives.powers(shape)
    r = lives.failures
    m1 = r * (s1 / s0 - log_scale)  # sum of (t/scale)^shape log(t/scale)
    m2 = r * (s2 / s0 - 2 * log_scale * s1 / s0 + log_scale**2)
    i_shape = r / shape**2 + m2
    i_both = -shape * m1
    i_scale = r * shape**2
    determinant = i_shape * i_scale - i_both**2
    return WeibullFit(
        shape=shape,
        scale=scale,
        loglik=lives.loglik(shape, log_scale),
        se_shape=math.sqrt(i_scale / determinant),
        se_scale=scale * math.sqrt(i_shape / determinant),
        cov=-scale * i_both / determinant,
        failures=r,
        running=len(times) - r,
        _likelihood=lives,
    )
