"""Which lot is worse than its fellows, and what a look at some of a lot says of all of it.

A lot is held against all its fellows together by Fisher's exact test, one-sided: how likely so many spoiled, or more,
would fall to it by chance if it were no worse. Every lot that is looked at is another chance to be misled, so the
chances are adjusted by Holm's method: however many are compared, one lot or more is called worse without cause with at
most the stated risk.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shop.calc.bounds import chance, number, whole
from shop.calc.share import Share, clopper_pearson, wilson

_MOST = 10_000_000


@dataclass(frozen=True)
class LotCount:
    """How many blanks of a lot were begun, and how many of them ended spoiled."""

    spoiled: int
    cut: int

    def __post_init__(self) -> None:
        whole("spoiled", self.spoiled, at_least=0, at_most=whole("cut", self.cut, at_least=0, at_most=_MOST))


@dataclass(frozen=True)
class LotVerdict:
    """A lot beside its fellows.

    share          Wilson interval of its spoiled share; None if nothing was cut of it
    fellows        all the others together
    p              chance of so many spoiled, or more, if it were no worse; 1 if there is nothing to compare
    p_adjusted     the same with all comparisons allowed for (Holm)
    comparisons    how many lots were compared
    clearly_worse  p_adjusted is within the risk
    """

    share: Share | None
    fellows: LotCount
    p: float
    p_adjusted: float
    comparisons: int
    clearly_worse: bool


def compare_lots(lots: Sequence[LotCount], *, level: float = 0.95, risk: float = 0.05) -> list[LotVerdict]:
    """Each lot against its fellows, in the order given.

    level  of the Wilson intervals
    risk   of calling any lot worse that is not, over all of them
    """
    level, risk = chance("level", level), chance("risk", risk)
    if not all(isinstance(each, LotCount) for each in lots):
        raise ValueError("lots must hold LotCount only.")
    spoiled, cut = sum(each.spoiled for each in lots), sum(each.cut for each in lots)
    others = [LotCount(spoiled - each.spoiled, cut - each.cut) for each in lots]
    compared = [bool(lot.cut and rest.cut) for lot, rest in zip(lots, others, strict=True)]
    raw = [
        fisher_worse(lot.spoiled, lot.cut, rest.spoiled, rest.cut) if one else 1.0
        for lot, rest, one in zip(lots, others, compared, strict=True)
    ]
    adjusted = iter(holm([p for p, one in zip(raw, compared, strict=True) if one]))
    verdicts = []
    for lot, rest, p, one in zip(lots, others, raw, compared, strict=True):
        whole_p = next(adjusted) if one else 1.0
        share = wilson(lot.spoiled, lot.cut, level) if lot.cut else None
        verdicts.append(LotVerdict(share, rest, p, whole_p, sum(compared), whole_p <= risk))
    return verdicts


def fisher_worse(spoiled: int, cut: int, fellows_spoiled: int, fellows_cut: int) -> float:
    """Fisher's exact test, one-sided: chance of `spoiled` or more among `cut` if all shared one lot's luck (1935)."""
    n = whole("cut", cut, at_least=0, at_most=_MOST)
    k = whole("spoiled", spoiled, at_least=0, at_most=n)
    rest = whole("fellows_cut", fellows_cut, at_least=0, at_most=_MOST)
    bad = k + whole("fellows_spoiled", fellows_spoiled, at_least=0, at_most=rest)
    return 1.0 if k == 0 else min(1.0, math.fsum(_hypergeometric(n + rest, bad, n, range(k, min(n, bad) + 1))))


def holm(p_values: Iterable[float]) -> list[float]:
    """Holm's adjusted chances, in the order given (1979): the i-th smallest of m times m - i + 1, never falling."""
    given = [number("p_values", each, at_least=0, at_most=1) for each in p_values]
    adjusted = [0.0] * len(given)
    highest = 0.0
    for done, place in enumerate(sorted(range(len(given)), key=given.__getitem__)):
        highest = max(highest, min(1.0, (len(given) - done) * given[place]))
        adjusted[place] = highest
    return adjusted


@dataclass(frozen=True)
class Inspection:
    """What looking at some of a lot says of it.

    share         of the lot that is bad, with Clopper and Pearson's interval (two-sided, as if the lot had no end)
    most_share    no more of it is bad, one-sided, for this lot's own size
    most_defects  the same as a number in the whole lot, and
    most_left     among those not looked at
    """

    share: Share
    most_share: float
    most_defects: int
    most_left: int


def inspect(defects: int, looked_at: int, lot_size: int, *, level: float = 0.95) -> Inspection:
    """What `defects` among `looked_at` of a lot of `lot_size` say of all of it, drawn at random from all over the lot.

    most_defects is the largest number with which so few would still have been found more often than once in
    1/(1 - level) times (hypergeometric, exact).
    """
    size = whole("lot_size", lot_size, at_least=1, at_most=_MOST)
    n = whole("looked_at", looked_at, at_least=1, at_most=size)
    k = whole("defects", defects, at_least=0, at_most=n)
    tail = 1 - chance("level", level)
    low, high = k, size - n + k + 1  # with `low` still believable, with `high` not
    while high - low > 1:
        middle = (low + high) // 2
        found = math.fsum(_hypergeometric(size, middle, n, range(max(0, n - (size - middle)), k + 1)))
        low, high = (middle, high) if found > tail else (low, middle)
    return Inspection(clopper_pearson(k, n, level), low / size, low, low - k)


def sample_needed(lot_size: int, most_defects: int, *, level: float = 0.95) -> int:
    """How many to look at so that, if all are good, no more than `most_defects` of the lot are bad."""
    size = whole("lot_size", lot_size, at_least=1, at_most=_MOST)
    most = whole("most_defects", most_defects, at_least=0, at_most=size)
    tail = 1 - chance("level", level)
    low, high = 0, size - most
    while high - low > 1:
        middle = (low + high) // 2
        clean = next(_hypergeometric(size, most + 1, middle, range(1)))
        low, high = (middle, high) if clean > tail else (low, middle)
    return high


def _hypergeometric(size: int, bad: int, drawn: int, found: range) -> Iterator[float]:
    """Chances of each number of bad ones in a draw without putting back; each follows from the one before."""
    if not found:
        return
    k = found[0]
    log = _log_choose(bad, k) + _log_choose(size - bad, drawn - k) - _log_choose(size, drawn)
    for k in found:
        yield math.exp(log)
        if bad > k and drawn > k:
            log += math.log((bad - k) * (drawn - k)) - math.log((k + 1) * (size - bad - drawn + k + 1))
        else:
            return


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)
