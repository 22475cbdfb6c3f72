"""Over-dispersed counts on a lattice 0, 1, 2, ...: the one kind of distribution the whole outlook is made of.

A count with mean mu and variance mu (1 + odds) is taken as negative binomial, Poisson at odds 0. Its chances follow
from one to the next without a special function:

    p(0) = exp(-mu log(1 + odds)/odds),   p(n + 1) = p(n) (mu + n odds)/((n + 1)(1 + odds))

which holds at odds 0 as well. Independent ones of equal odds add up to one of those odds: that is what makes weeks add.
Arrays of any shape in, a last axis of lattice points out. Private to this package.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: Chances below this are no longer carried.
TINY = 1e-12


def chances(mean: "Array", odds: "Array", size: int) -> "Array":
    """Chances of 0, 1, ..., size - 1 with that mean and odds (both of one shape); what lies beyond is left out.

    Exact to rounding; where p(0) would underflow the same steps are taken in logarithms. Shape (..., size).
    """
    import numpy as np

    found = np.empty((size, *mean.shape))
    none = mean * log1p_over(odds)
    found[0] = np.exp(-none)
    step, spread = mean / (1 + odds), odds / (1 + odds)
    for n in range(size - 1):
        np.multiply(found[n], (step + n * spread) / (n + 1), out=found[n + 1])
    far = none > 700
    if far.any():
        at = np.arange(size - 1)[:, None]
        ratio = np.log((step[far] + at * spread[far]) / (at + 1))
        found[:, far] = np.exp(np.vstack([-none[far], np.cumsum(ratio, axis=0) - none[far]]))
    return np.moveaxis(found, 0, -1)


def log1p_over(odds: "Array") -> "Array":
    """log(1 + odds)/odds, 1 at 0."""
    import numpy as np

    small = odds < 1e-8
    return np.where(small, 1 - odds / 2, np.log1p(odds) / np.where(small, 1, odds))


def in_steps(mean: "Array", variance: "Array", grain: "Array") -> tuple["Array", "Array", "Array"]:
    """The same count in steps of `grain`: whole steps that are certain, then the mean and odds of what is left.

    Steps make a count less spread than Poisson when they are large beside its variance; then part of the mean is taken
    as certain, so that mean and variance both hold (the variance to within one step). With grain 1 and a variance no
    less than the mean nothing is certain.
    """
    import numpy as np

    mu, var = mean / grain, variance / grain**2
    certain = np.floor(np.maximum(mu - var, 0) + 1e-9)
    left = np.maximum(mu - certain, 0)
    odds = np.maximum(var / np.where(left > 0, left, 1) - 1, 0)
    return certain.astype(int), left, np.where(left > 0, odds, 0.0)


def grain_for(most: "Array", cells: int) -> "Array":
    """The smallest step of 1, 2, 5, 10, 20, ... by which 0..most takes at most `cells` lattice points; per element."""
    import numpy as np

    need = np.maximum(np.asarray(most, dtype=float) / (cells - 1), 1.0)
    power = 10.0 ** np.floor(np.log10(need))
    lead = need / power
    step = np.select([lead <= 1, lead <= 2, lead <= 5], [1, 2, 5], 10)
    return np.asarray(np.rint(step * power), dtype=int)


def rate_nodes(shape: "Array", count: int) -> tuple["Array", "Array"]:
    """Gauss's nodes and weights for gamma distributions of scale 1: shape (items,) to two of (items, count).

    Generalised Gauss-Laguerre by the eigenvalues of the Jacobi matrix (Golub and Welsch 1969): the first 2 count - 1
    moments hold exactly, whatever the shape above 0.
    """
    import numpy as np

    a = np.maximum(shape, 1e-9)[:, None]
    i = np.arange(count)
    matrix = np.zeros((len(shape), count, count))
    matrix[:, i, i] = 2 * i + a
    beside = np.sqrt(i[1:] * (i[1:] + a - 1))
    matrix[:, i[:-1], i[1:]] = beside
    matrix[:, i[1:], i[:-1]] = beside
    nodes, vectors = np.linalg.eigh(matrix)
    return np.maximum(nodes, 0), vectors[:, 0, :] ** 2


def shifted(values: "Array", by: "Array") -> "Array":
    """Values moved up the last axis by so many points (one number for each of the other axes); zeros come in."""
    import numpy as np

    if not by.any():
        return values
    size = values.shape[-1]
    at = np.arange(size) - np.minimum(by, size)[..., None]
    return np.where(at >= 0, np.take_along_axis(values, np.maximum(at, 0), axis=-1), 0.0)


def summed(reached: "Array", chances_of: "Array") -> "Array":
    """P(A + B <= n) from P(A <= n) and P(B = n), independent, item by item; shapes (items, points)."""
    import numpy as np
    from scipy.fft import irfft, next_fast_len, rfft

    if (chances_of[:, 0] >= 1).all():
        return reached
    size = reached.shape[1]
    padded = next_fast_len(2 * size - 1, real=True)
    both = irfft(rfft(reached, padded) * rfft(chances_of, padded), padded)[:, :size]
    return np.asarray(np.clip(both, 0, 1))
