"""The Weibull life law: S(t) = exp(-(t/scale)^shape). Hours throughout; a shape above 1 means wear."""

import math
from dataclasses import dataclass

from shop.calc.bounds import chance, number

MOST_HOURS = 1e9


def check_hours(name: str, value: object) -> float:
    return number(name, value, at_least=0, at_most=MOST_HOURS)


def _power(base: float, exponent: float) -> float:
    """base^exponent, infinite where it runs over."""
    try:
        return float(base**exponent)
    except (OverflowError, ZeroDivisionError):  # the latter where a base so small came out as 0
        return math.inf


@dataclass(frozen=True)
class Weibull:
    """A Weibull law with known figures: `shape` (no unit, 0.05 to 1000) and `scale` (hours, above 0)."""

    shape: float
    scale: float

    def __post_init__(self) -> None:
        number("shape", self.shape, at_least=0.05, at_most=1000)
        number("scale", self.scale, at_least=1e-9, at_most=MOST_HOURS)

    def survival(self, hours: float) -> float:
        """Chance of lasting longer than so many hours."""
        return math.exp(-_power(check_hours("hours", hours) / self.scale, self.shape))

    def hazard(self, hours: float) -> float:
        """Failures per hour at an age above 0 of those that reached it; infinite where it runs over."""
        age = number("hours", hours, above=0, at_most=MOST_HOURS)
        return _power(age / self.scale, self.shape - 1) * self.shape / self.scale

    def quantile(self, q: float) -> float:
        """Hours by which a share q of lives has ended (0.1 for B10)."""
        return self.scale * float((-math.log1p(-chance("q", q))) ** (1 / self.shape))

    @property
    def mean(self) -> float:
        """Mean life in hours."""
        return self.scale * math.gamma(1 + 1 / self.shape)

    @property
    def sd(self) -> float:
        """Standard deviation of life in hours."""
        first, second = math.gamma(1 + 1 / self.shape), math.gamma(1 + 2 / self.shape)
        return self.scale * math.sqrt(max(0.0, second - first * first))

    def chance_of_finishing(self, age: float, extra: float) -> float:
        """Chance that a life which has reached `age` hours lasts `extra` more: R(age + extra)/R(age)."""
        age, extra = check_hours("age", age), check_hours("extra", extra)
        if age < 1e-100:
            return self.survival(extra)
        # H(t + x) - H(t), without taking the small difference of two large numbers
        used = _power(age / self.scale, self.shape)
        grown = self.shape * math.log1p(extra / age)
        if grown == 0:
            return 1.0
        if used == 0:
            return self.survival(min(age + extra, MOST_HOURS))
        return math.exp(-used * (math.expm1(grown) if grown < 700 else math.inf))

    def remaining(self, age: float, q: float = 0.5) -> float:
        """Hours more within which a share q of lives that reached `age` ends (0.5: the median remaining life)."""
        age = check_hours("age", age)
        used = _power(age / self.scale, self.shape)
        spent = -math.log1p(-chance("q", q))
        if used < 1e-14 * spent:
            return max(0.0, self.quantile(q) - age)
        return age * math.expm1(math.log1p(spent / used) / self.shape)

    def mean_residual_life(self, age: float) -> float:
        """Mean hours more of lives that reached `age`."""
        return mean_residual_life(self.shape, self.scale, age)


def conditional_survival(shape: float, scale: float, age: float, extra: float) -> float:
    """Chance that a Weibull life which has reached `age` hours lasts `extra` more: R(age + extra)/R(age)."""
    return Weibull(shape, scale).chance_of_finishing(age, extra)


def mean_residual_life(shape: float, scale: float, age: float) -> float:
    """Mean hours more of Weibull lives that reached `age`.

    exp(x) (scale/shape) G(1/shape, x) with x = (age/scale)^shape and G the upper incomplete gamma function; for large x
    its asymptotic series (Abramowitz and Stegun 6.5.32), whose first term is one over the hazard.
    """
    life = Weibull(shape, scale)
    age = check_hours("age", age)
    a = 1 / shape
    x = _power(age / scale, shape)
    if x <= 500:
        from scipy.special import gammaincc

        return float(scale * a * math.gamma(a) * math.exp(x) * gammaincc(a, x))
    rate = life.hazard(age)
    if math.isinf(rate) or math.isinf(x):
        return 0.0
    term = total = 1.0
    for n in range(1, 60):
        step = term * (a - n) / x
        if abs(step) >= abs(term):  # the series has stopped getting better
            break
        term = step
        total += term
        if abs(term) < 1e-17:
            break
    return total / rate
