"""How long charts run before they signal: EWMA and CUSUM on independent normal readings."""

from functools import cache

from shop.calc.bounds import number

#: Steps into which a chart's state is cut. With 201 the run lengths below are right to a tenth of a percent or so.
_STATES = 201


@cache
def ewma_run_length(weight: float, width: float, shift: float = 0.0) -> float:
    """Readings on average until an EWMA chart with constant limits signals, the mean having moved by `shift` (in sd).

    From the target on; two-sided, by the Markov chain of Brook and Evans (1972) on the smoothed value. ValueError
    unless 0.01 <= weight < 1, 0.5 <= width <= 6, and at most 10 for the shift.
    """
    import numpy as np
    from scipy.special import ndtr

    weight = number("weight", weight, at_least=0.01, below=1)
    reach = number("width", width, at_least=0.5, at_most=6) * (weight / (2 - weight)) ** 0.5
    shift = number("shift", shift, at_least=-10, at_most=10)
    step = 2 * reach / _STATES
    middles = -reach + step * (np.arange(_STATES) + 0.5)
    ends = middles[None, :] - (1 - weight) * middles[:, None]
    chances = ndtr((ends + step / 2) / weight - shift) - ndtr((ends - step / 2) / weight - shift)
    return float(np.linalg.solve(np.eye(_STATES) - chances, np.ones(_STATES))[_STATES // 2])


@cache
def cusum_run_length(slack: float, limit: float, shift: float = 0.0) -> float:
    """Readings on average until one of two CUSUMs signals, the mean having moved by `shift`; all in sd.

    Each by the Markov chain of Brook and Evans (1972); together by 1/both = 1/up + 1/down, which holds for two sums
    that start at nought (Kemp 1961, as told by a statistics program's manual). ValueError unless 0 <= slack <= 3 and
    0.5 <= limit <= 20, and at most 10 for the shift.
    """
    slack = number("slack", slack, at_least=0, at_most=3)
    limit = number("limit", limit, at_least=0.5, at_most=20)
    shift = number("shift", shift, at_least=-10, at_most=10)
    return 1 / (1 / _one_sided(slack, limit, shift) + 1 / _one_sided(slack, limit, -shift))


def _one_sided(slack: float, limit: float, shift: float) -> float:
    import numpy as np
    from scipy.special import ndtr

    step = 2 * limit / (2 * _STATES - 1)
    middles = step * np.arange(_STATES)
    up = middles[None, :] + step / 2 - middles[:, None] + slack - shift
    chances = ndtr(up) - ndtr(up - step)
    chances[:, 0] = ndtr(up[:, 0])
    return float(np.linalg.solve(np.eye(_STATES) - chances, np.ones(_STATES))[0])
