"""How many blanks to have at hand, so that all sides come good with a chosen confidence in spite of rejects.

Each blank gives a good side or a reject. With a known share of rejects the number of rejects before the last good side
is negative binomial; where the share is known from counted sides only, it is itself uncertain (a beta distribution),
and the number of rejects is beta negative binomial, which asks for more.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from shop.calc.bounds import chance, number, whole

#: From so many counted sides on they tell a share of rejects by themselves. Fewer leave its long tail open, and ask for
#: hundreds of blanks or for none. Our own choice, no source.
ENOUGH_SIDES = 10
#: What a guess at the share counts as, in sides: it gives way to the room's own from as many on. Our own choice.
GUESS_WORTH = 8.0
#: A guess is no certainty, and more than half is no way to work.
GUESS = (0.01, 0.5)
_MOST = 1000
#: No answer is looked for beyond this many rejects: by then the lot is no use.
_MOST_REJECTS = 100_000


@dataclass(frozen=True)
class RejectShare:
    """What counted sides say of the share of rejects: Beta(good, rejects), both above 0. mean: 0 to 1."""

    good: float
    rejects: float

    @property
    def mean(self) -> float:
        return self.rejects / (self.good + self.rejects)


def reject_share(
    rejects: int,
    cut: int,
    *,
    fellows_rejects: int = 0,
    fellows_cut: int = 0,
    fellows_worth: float = 20.0,
    guess: float | None = None,
) -> RejectShare:
    """Of a lot that gave `rejects` in `cut` sides, its fellows counting for at most `fellows_worth` sides of its own.

    Begins with half a side of each (Jeffreys' prior), so that a lot nobody has cut yet has a share too; or with
    `guess`, the share that is expected (within GUESS), as if seen on GUESS_WORTH sides. What the fellows are worth is
    our own figure: a lot may differ from them.
    """
    n = whole("cut", cut, at_least=0, at_most=10_000_000)
    k = whole("rejects", rejects, at_least=0, at_most=n)
    rest = whole("fellows_cut", fellows_cut, at_least=0, at_most=10_000_000)
    bad = whole("fellows_rejects", fellows_rejects, at_least=0, at_most=rest)
    weight = min(1.0, number("fellows_worth", fellows_worth, at_least=0, at_most=1e6) / rest) if rest else 0.0
    first = 0.5, 0.5
    if guess is not None:
        expected = number("guess", guess, at_least=GUESS[0], at_most=GUESS[1])
        first = GUESS_WORTH * (1 - expected), GUESS_WORTH * expected
    return RejectShare(good=first[0] + n - k + weight * (rest - bad), rejects=first[1] + k + weight * bad)


def known_share(
    rejects: int, cut: int, *, fellows_rejects: int = 0, fellows_cut: int = 0, guess: float | None = None
) -> RejectShare | None:
    """`reject_share`; None where too little is known: no guess, and fewer than ENOUGH_SIDES with its fellows' sides."""
    if guess is None and cut + fellows_cut < ENOUGH_SIDES:
        return None
    return reject_share(rejects, cut, fellows_rejects=fellows_rejects, fellows_cut=fellows_cut, guess=guess)


def most_blanks(sides: int) -> int:
    """The most blanks that are told as a number: four a side, and four besides. If it takes more, the lot (or the
    confidence) is what wants a look. Our own choice."""
    return 4 * whole("sides", sides, at_least=0, at_most=_MOST) + 4


def blanks_to_have(sides: int, share: RejectShare, confidence: float = 0.95) -> int | None:
    """`blanks_needed_from`; None where that is more than `most_blanks`."""
    if chance_of_all_good(sides, most_blanks(sides), share) < chance("confidence", confidence):
        return None
    return blanks_needed_from(sides, share, confidence)


def blanks_needed(sides: int, reject_rate: float, confidence: float = 0.95) -> int:
    """The fewest blanks of which `sides` come good with that confidence, each rejected with chance `reject_rate`.

    Negative binomial: the quantile of the rejects before the last good side, and the sides. ValueError unless
    0 <= reject_rate < 1, and where no number of blanks would do.
    """
    wanted = whole("sides", sides, at_least=0, at_most=_MOST)
    rate = number("reject_rate", reject_rate, at_least=0, below=1)
    first = wanted * math.log1p(-rate)
    ratios = ((wanted + x) / (x + 1) * rate for x in range(_MOST_REJECTS))
    return wanted + _quantile(first, ratios, chance("confidence", confidence))


def blanks_needed_from(sides: int, share: RejectShare, confidence: float = 0.95) -> int:
    """As `blanks_needed`, with a share of rejects that is known from counted sides: beta negative binomial."""
    wanted = whole("sides", sides, at_least=0, at_most=_MOST)
    good, bad = number("good", share.good, above=0, at_most=1e8), number("rejects", share.rejects, above=0, at_most=1e8)
    first = _log_beta(good + wanted, bad) - _log_beta(good, bad)
    ratios = ((wanted + x) * (bad + x) / ((x + 1) * (good + wanted + bad + x)) for x in range(_MOST_REJECTS))
    return wanted + _quantile(first, ratios, chance("confidence", confidence))


def chance_of_all_good(sides: int, blanks: int, share: RejectShare) -> float:
    """The chance, 0 to 1, that `sides` come good of so many blanks."""
    wanted = whole("sides", sides, at_least=0, at_most=_MOST)
    spare = whole("blanks", blanks, at_least=0, at_most=_MOST_REJECTS) - wanted
    if spare < 0:
        return 0.0
    good, bad = share.good, share.rejects
    term = math.exp(_log_beta(good + wanted, bad) - _log_beta(good, bad))
    terms = [term]
    for x in range(spare):
        term *= (wanted + x) * (bad + x) / ((x + 1) * (good + wanted + bad + x))
        terms.append(term)
    return min(1.0, math.fsum(terms))


def _quantile(log_first: float, ratios: Iterator[float], confidence: float) -> int:
    """The least x with P(X <= x) >= confidence, of a distribution given by ln P(0) and P(x + 1) / P(x)."""
    term = below = math.exp(log_first)
    for x, ratio in enumerate(ratios):
        if below >= confidence - 1e-12:
            return x
        term *= ratio
        below += term
    raise ValueError("confidence must be one that some number of blanks can give: too many of them are rejected.")


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
