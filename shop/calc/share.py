"""How sure a counted share is: so many of so many, such as blanks spoiled of blanks cut."""

import math
from typing import NamedTuple

from shop.calc.bounds import chance, whole


class Share(NamedTuple):
    """A share with an interval, all from 0 to 1."""

    low: float
    middle: float
    high: float


def _counts(of_them: object, all_of_them: object) -> tuple[int, int]:
    n = whole("all_of_them", all_of_them, at_least=1, at_most=1_000_000_000)
    return whole("of_them", of_them, at_least=0, at_most=n), n


def wilson(of_them: int, all_of_them: int, level: float = 0.95) -> Share:
    """Wilson's score interval for a share (Wilson 1927; Newcombe 1998, method 3): close to its level on average."""
    from scipy.special import ndtri

    k, n = _counts(of_them, all_of_them)
    z = float(ndtri((1 + chance("level", level)) / 2))
    share = k / n
    centre = (share + z * z / (2 * n)) / (1 + z * z / n)
    reach = z / (1 + z * z / n) * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    return Share(0.0 if k == 0 else centre - reach, share, 1.0 if k == n else centre + reach)


def clopper_pearson(of_them: int, all_of_them: int, level: float = 0.95) -> Share:
    """Clopper and Pearson's exact interval for a share (1934): never below its level, wide with few."""
    from scipy.special import betaincinv

    k, n = _counts(of_them, all_of_them)
    tail = (1 - chance("level", level)) / 2
    low = 0.0 if k == 0 else float(betaincinv(k, n - k + 1, tail))
    high = 1.0 if k == n else float(betaincinv(k + 1, n - k, 1 - tail))
    return Share(low, k / n, high)
