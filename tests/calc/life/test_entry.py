"""Lives that came into view at an age: the plain cases, what always holds, and what is refused."""

import math

import pytest

from shop.calc.life import LifePosterior, LifePrior, fit_weibull, kaplan_meier

HOURS = [8.0, 11.5, 12.0, 14.2, 16.0, 9.0, 18.0]
ENDED = [True, True, True, True, True, False, False]
ENTERED = [0.0, 6.0, 0.0, 9.5, 3.0, 8.0, 0.0]
GUESS = LifePrior(12, "rough")


def loglik(shape: float, scale: float) -> float:
    """f(t)/S(a), cut short S(t)/S(a), as the textbook writes it."""
    total = 0.0
    for time, over, age in zip(HOURS, ENDED, ENTERED, strict=True):
        total += (age / scale) ** shape - (time / scale) ** shape
        if over:
            total += math.log(shape / scale) + (shape - 1) * math.log(time / scale)
    return total


def test_the_fit_is_a_maximum_with_the_curvature_there() -> None:
    fit = fit_weibull(HOURS, ENDED, entered=ENTERED)
    assert fit.loglik == pytest.approx(loglik(fit.shape, fit.scale), rel=1e-12)
    for shape in (0.999, 1.001):
        for scale in (0.999, 1, 1.001):
            assert loglik(fit.shape * shape, fit.scale * scale) < fit.loglik
    a, b = fit.shape * 1e-4, fit.scale * 1e-4

    def at(i: int, j: int) -> float:
        return loglik(fit.shape + i * a, fit.scale + j * b)

    aa = -(at(1, 0) - 2 * at(0, 0) + at(-1, 0)) / a**2
    bb = -(at(0, 1) - 2 * at(0, 0) + at(0, -1)) / b**2
    ab = -(at(1, 1) - at(1, -1) - at(-1, 1) + at(-1, -1)) / (4 * a * b)
    assert fit.se_shape == pytest.approx(math.sqrt(bb / (aa * bb - ab * ab)), rel=1e-4)
    assert fit.se_scale == pytest.approx(math.sqrt(aa / (aa * bb - ab * ab)), rel=1e-4)


def test_lives_that_entered_at_0_are_lives_seen_whole() -> None:
    none = [0.0] * len(HOURS)
    assert fit_weibull(HOURS, ENDED, entered=none) == fit_weibull(HOURS, ENDED)
    assert kaplan_meier(HOURS, ENDED, entered=none) == kaplan_meier(HOURS, ENDED)
    assert LifePosterior(GUESS, HOURS, ENDED, entered=none) == LifePosterior(GUESS, HOURS, ENDED)


def test_a_life_that_only_just_came_in_says_nothing() -> None:
    """One that entered at 10 h and still runs at 10 h: R(10)/R(10) is 1 by any law."""
    alone, with_it = LifePosterior(GUESS), LifePosterior(GUESS, [10.0], [False], entered=[10.0])
    for hours in (2.0, 10.0, 20.0):
        assert with_it.survival(hours) == pytest.approx(alone.survival(hours), rel=2e-3)
    whole = LifePosterior(GUESS, [10.0], [False])
    assert whole.survival(10.0) > 1.1 * alone.survival(10.0)


def test_an_old_edge_that_wears_soon_is_not_taken_for_a_short_life() -> None:
    """It entered at 9 h and was worn at 10: a life of 10 h. As one of 1 h it would spoil the room's figures."""
    right = LifePosterior(GUESS, [10.0], [True], entered=[9.0])
    wrong = LifePosterior(GUESS, [1.0], [True])
    assert right.typical().low > 1.5 * wrong.typical().low
    assert right.wear().middle > 1.3 * wrong.wear().middle
    assert right.typical().middle < LifePosterior(GUESS, [10.0], [True]).typical().middle


def test_only_those_in_view_are_at_risk() -> None:
    steps = kaplan_meier([4.0, 6.0, 9.0, 9.0], [True, True, True, False], entered=[0.0, 5.0, 0.0, 6.0])
    assert [(one.hours, one.at_risk, one.ended) for one in steps] == [(4.0, 2, 1), (6.0, 2, 1), (9.0, 2, 1)]
    assert [one.survival for one in steps] == [0.5, 0.25, 0.125]


@pytest.mark.parametrize(
    ("hours", "ended", "entered"),
    [
        ([5.0, 6.0], [True, False], [1.0]),
        ([5.0, 6.0], [True, False], [5.0, 0.0]),
        ([5.0, 6.0], [True, False], [0.0, 6.1]),
        ([5.0, 6.0], [True, False], [-1.0, 0.0]),
        ([5.0, 6.0], [True, False], [math.nan, 0.0]),
    ],
)
def test_an_age_that_makes_no_sense_is_refused(hours: list[float], ended: list[bool], entered: list[float]) -> None:
    for ask in (fit_weibull, kaplan_meier, lambda *rest, **more: LifePosterior(GUESS, *rest, **more)):
        with pytest.raises(ValueError, match="entered"):
            ask(hours, ended, entered=entered)


def test_where_no_shape_is_most_likely_the_fit_says_so() -> None:
    """One life seen, and it wore out the moment it came: the likelihood rises as the shape falls."""
    with pytest.raises(ValueError, match="hours must tell a shape"):
        fit_weibull([10.0, 100.0, 30.0], [True, False, True], entered=[9.99, 99.0, 29.99])
