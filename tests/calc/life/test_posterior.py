"""The posterior from the shop's guess on: against plain integration, against drawn lives, and at its edges."""

import math
import random
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.calc.life import LifePosterior, LifePrior, Weibull, conditional_survival, fit_weibull
from shop.calc.life.posterior import SURE

Value = Callable[[Any, Any], Any]

GUESS = LifePrior(12, "rough")
HOURS = [8.0, 11.5, 12.0, 14.2, 16.0, 9.0, 18.0]
ENDED = [True, True, True, True, True, False, False]


def by_plain_integration(prior: LifePrior, hours: list[float], ended: list[bool]) -> Callable[[Value], float]:
    """What gives the posterior mean of a value of shape and scale: one wide grid, written as the textbook has it."""
    sd, wear_sd = math.log(prior.factor) / 1.6448536269514722, math.log(prior.wear_sure) / 1.6448536269514722
    median = np.exp(np.linspace(math.log(0.01), math.log(3000), 900))[:, None]
    shape = np.exp(np.linspace(math.log(0.3), math.log(60), 400))[None, :]
    scale = median / math.log(2) ** (1 / shape)
    log = -(((np.log(median) - math.log(prior.expected_hours)) / sd) ** 2) / 2
    log = log - ((np.log(shape) - math.log(prior.wear)) / wear_sd) ** 2 / 2
    for time, over in zip(hours, ended, strict=True):
        with np.errstate(over="ignore"):
            log = log - (time / scale) ** shape
        if over:
            log = log + np.log(shape / scale) + (shape - 1) * np.log(time / scale)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    return lambda value: float((weight * value(shape, scale)).sum())


CASES: list[tuple[LifePrior, list[float], list[bool]]] = [
    (GUESS, [], []),
    (LifePrior(12, "well"), [], []),
    (GUESS, [6.0, 3.0], [False, False]),
    (GUESS, HOURS, ENDED),
    (LifePrior(40, 1.1), HOURS, ENDED),
    (LifePrior(12, 5.0, wear=1.5, wear_sure=1.5), [300.0, 250.0, 400.0], [True, True, False]),
    (GUESS, HOURS * 12, ENDED * 12),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0].expected_hours:g} {case[0].sure} {len(case[1])}")
def test_it_is_bayes_rule(case: tuple[LifePrior, list[float], list[bool]]) -> None:
    prior, hours, ended = case
    posterior = LifePosterior(prior, hours, ended)
    typical = posterior.typical().middle
    mean_of = by_plain_integration(prior, hours, ended)
    for time in (0.3 * typical, typical, 2 * typical):
        plain = mean_of(lambda b, s, t=time: np.exp(-np.exp(np.minimum(b * np.log(t / s), 50))))  # type: ignore[misc]
        assert posterior.survival(time) == pytest.approx(plain, abs=2e-5)
    age, extra = 0.5 * typical, 0.3 * typical

    def finishing(b: Any, s: Any) -> Any:
        with np.errstate(over="ignore", invalid="ignore"):
            return np.nan_to_num(np.exp((age / s) ** b - ((age + extra) / s) ** b))

    assert posterior.chance_of_finishing(age, extra) == pytest.approx(mean_of(finishing), abs=2e-5)
    assert math.log(typical) == pytest.approx(mean_of(lambda b, s: np.log(s * math.log(2) ** (1 / b))), abs=2e-4)


def test_with_no_life_at_all_it_is_the_guess() -> None:
    posterior = LifePosterior(GUESS)
    band = posterior.typical(0.9)
    assert band.middle == pytest.approx(12, rel=1e-3)
    assert (band.low, band.high) == pytest.approx((4, 36), rel=0.01)
    assert (posterior.failures, posterior.running) == (0, 0)
    assert posterior.wear(0.9) == pytest.approx((1, 2, 4), rel=0.01)


def test_the_surer_the_guess_the_narrower() -> None:
    widths = []
    for sure in SURE:
        band = LifePosterior(LifePrior(12, sure)).typical()
        widths.append(band.high / band.low)
    assert widths == sorted(widths, reverse=True)
    assert list(SURE) == ["rough", "fair", "well"]


def test_one_life_that_runs_on_raises_hopes_and_one_that_ends_early_lowers_them() -> None:
    guess = LifePosterior(GUESS).survival(12)
    assert LifePosterior(GUESS, [30], [False]).survival(12) > guess
    assert LifePosterior(GUESS, [2], [True]).survival(12) < guess


def test_a_life_given_or_taken_in_on_asking_says_the_same() -> None:
    given_here = LifePosterior(GUESS, [*HOURS, 7.0], [*ENDED, False])
    taken_in = LifePosterior(GUESS, HOURS, ENDED)
    assert taken_in.chance_of_finishing(7, 3, counted=False) == pytest.approx(
        given_here.chance_of_finishing(7, 3), abs=1e-5
    )
    assert taken_in.remaining(7, 0.2, counted=False) == pytest.approx(given_here.remaining(7, 0.2), rel=1e-3)


def test_a_life_not_given_is_asked_of_the_mixture() -> None:
    posterior = LifePosterior(GUESS, HOURS, ENDED)
    assert posterior.chance_of_finishing(7, 3, counted=False) == pytest.approx(
        posterior.survival(10) / posterior.survival(7), rel=1e-9
    )


def test_with_many_lives_it_comes_to_the_fit() -> None:
    rng = random.Random(4)
    drawn = [rng.weibullvariate(14, 2.5) for _ in range(3000)]
    posterior, fit = LifePosterior(GUESS, drawn, [True] * 3000), fit_weibull(drawn, [True] * 3000)
    assert posterior.wear().middle == pytest.approx(fit.shape, rel=5e-3)
    assert posterior.chance_of_finishing(10, 2) == pytest.approx(fit.chance_of_finishing(10, 2), abs=2e-3)
    assert posterior.mean == pytest.approx(fit.mean, rel=5e-3)
    width = posterior.wear(0.9)
    assert (width.high - width.low) / (2 * 1.645) == pytest.approx(fit.se_shape, rel=0.1)


def test_a_guess_held_for_certain_is_that_law() -> None:
    posterior = LifePosterior(LifePrior(10, 1.01, wear=3, wear_sure=1.01))
    law = Weibull(3, 10 / math.log(2) ** (1 / 3))
    assert posterior.survival(7) == pytest.approx(law.survival(7), abs=1e-3)
    assert posterior.chance_of_finishing(7, 2) == pytest.approx(conditional_survival(3, law.scale, 7, 2), abs=1e-3)
    assert posterior.mean == pytest.approx(law.mean, rel=1e-3)
    assert posterior.remaining(7, 0.1) == pytest.approx(law.remaining(7, 0.1), rel=5e-3)


def test_remaining_is_when_the_chance_has_fallen_so_far() -> None:
    posterior = LifePosterior(GUESS, HOURS, ENDED)
    for age, q in ((0, 0.05), (7, 0.05), (7, 0.5), (40, 0.9)):
        assert posterior.chance_of_finishing(age, posterior.remaining(age, q)) == pytest.approx(1 - q, abs=1e-8)
    assert posterior.remaining(7, 0.05) < posterior.remaining(7, 0.2) < posterior.remaining(7, 0.5)


def test_bands_hold_their_middle_and_narrow_with_lives() -> None:
    few, many = LifePosterior(GUESS, HOURS, ENDED), LifePosterior(GUESS, HOURS * 10, ENDED * 10)
    for band_of in (
        lambda p: p.survival_band(10),
        lambda p: p.chance_band(6, 4),
        lambda p: p.typical(),
        lambda p: p.wear(),
    ):
        wide, narrow = band_of(few), band_of(many)
        assert wide.low < wide.middle < wide.high
        assert narrow.high - narrow.low < wide.high - wide.low
    assert few.survival_band(10).middle == few.survival(10)
    assert few.chance_band(6, 4).middle == few.chance_of_finishing(6, 4)
    assert few.survival_band(0) == (1, pytest.approx(1), 1)


def test_its_chances_come_true_as_often_as_it_says() -> None:
    """Styli drawn from the guess itself: what is given seven chances in ten must happen seven times in ten."""
    rng = random.Random(2)
    foretold, happened = [], []
    while len(foretold) < 1500:
        median = 12 * math.exp(rng.gauss(0, math.log(3) / 1.6449))
        shape = 2 * math.exp(rng.gauss(0, math.log(2) / 1.6449))
        scale = median / math.log(2) ** (1 / shape)
        seen = [rng.weibullvariate(scale, shape) for _ in range(rng.randrange(4))]
        age, fresh = rng.uniform(0, 12), rng.weibullvariate(scale, shape)
        if fresh > age:
            posterior = LifePosterior(GUESS, [min(life, 20) for life in seen], [life <= 20 for life in seen])
            foretold.append(posterior.chance_of_finishing(age, 4, counted=False))
            happened.append(fresh > age + 4)
    said, was = np.array(foretold), np.array(happened)
    for low, high in ((0, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1)):
        those = (said > low) & (said <= high)
        spread = math.sqrt((said[those] * (1 - said[those])).sum()) / those.sum()
        assert was[those].mean() == pytest.approx(said[those].mean(), abs=3 * spread)


@pytest.mark.parametrize(
    ("hours", "ended", "sentence"),
    [
        ([], [], "No life has worn out yet: this rests on the room's own guess. "
                 "A typical life of 12 h, taken as somewhere from 4 to 36 h nine times in ten."),
        ([5], [False], "No life has worn out yet (1 still runs or ended otherwise): this rests on the room's own "
                       "guess. A typical life of 12 h, taken as somewhere from 4 to 36 h nine times in ten."),
        ([5, 6, 7], [False, True, False], "Rests on 1 life that wore out; 2 still run or ended otherwise. The room's "
                                          "own guess still weighs in."),
        ([5] * 12, [True] * 12, "Rests on 12 lives that wore out."),
    ],
)  # fmt: skip
def test_it_says_what_it_rests_on(hours: list[float], ended: list[bool], sentence: str) -> None:
    assert LifePosterior(GUESS, hours, ended).rests_on == sentence


def test_it_cannot_be_altered_and_equals_its_like() -> None:
    posterior = LifePosterior(GUESS, HOURS, ENDED)
    with pytest.raises(AttributeError):
        posterior.hours = ()  # type: ignore[misc]
    assert posterior == LifePosterior(GUESS, tuple(HOURS), iter(ENDED))
    assert posterior != LifePosterior(GUESS)


def test_asking_for_a_life_loads_no_scipy() -> None:
    code = (
        "import sys; from shop.calc.life import LifePosterior, LifePrior; assert 'numpy' not in sys.modules; "
        "LifePosterior(LifePrior(10)).remaining(1, 0.1); sys.exit('scipy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: LifePrior(0), "expected_hours"),
        (lambda: LifePrior(math.inf), "expected_hours"),
        (lambda: LifePrior(10, "quite"), "sure"),
        (lambda: LifePrior(10, 1.0), "sure"),
        (lambda: LifePrior(10, wear=0.1), "wear"),
        (lambda: LifePrior(10, wear_sure=9), "wear_sure"),
        (lambda: LifePosterior(12), "prior"),  # type: ignore[arg-type]
        (lambda: LifePosterior(GUESS, [1], []), "ended"),
        (lambda: LifePosterior(GUESS, [0], [True]), r"hours\[0\]"),
        (lambda: LifePosterior(GUESS).survival(-1), "hours"),
        (lambda: LifePosterior(GUESS).survival_band(1, 0), "level"),
        (lambda: LifePosterior(GUESS).chance_of_finishing(math.nan, 1), "age"),
        (lambda: LifePosterior(GUESS).remaining(1, 1), "q"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()


@given(
    expected=st.floats(1e-3, 1e6),
    sure=st.sampled_from([*SURE, 1.01, 100.0]),
    wear=st.floats(0.5, 10),
    wear_sure=st.floats(1.01, 4),
    lives=st.lists(st.tuples(st.floats(1e-6, 1e9), st.booleans()), max_size=12),
    age=st.floats(0, 1e9),
    extra=st.floats(0, 1e9),
    counted=st.booleans(),
)
@settings(max_examples=300)
def test_no_answer_is_nan(
    expected: float,
    sure: float | str,
    wear: float,
    wear_sure: float,
    lives: list[tuple[float, bool]],
    age: float,
    extra: float,
    counted: bool,
) -> None:
    posterior = LifePosterior(LifePrior(expected, sure, wear, wear_sure), [h for h, _ in lives], [e for _, e in lives])
    chances = (
        posterior.survival(age),
        posterior.chance_of_finishing(age, extra, counted=counted),
        *posterior.survival_band(age),
        *posterior.chance_band(age, extra),
    )
    assert all(-1e-12 <= each <= 1 + 1e-12 for each in chances)
    for hours in (posterior.mean, posterior.remaining(age, 0.1, counted=counted), *posterior.typical()):
        assert math.isfinite(hours)
        assert hours >= 0
    assert posterior.survival(age + extra if age + extra <= 1e9 else 1e9) <= posterior.survival(age) + 1e-12
