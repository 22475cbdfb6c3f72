"""Charts and lines against the NIST handbook, NIST's certified line, and SciPy."""

import math
from fractions import Fraction
from random import Random

import pytest
from scipy.stats import linregress, norm, theilslopes
from scipy.stats import t as student

from shop.calc.drift import cusum_chart, ewma_chart, fit_line, robust_slope, surprises
from shop.calc.runs import cusum_run_length, ewma_run_length
from tests.published.oracles import oracle, quietly

EWMA_DATA = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
             49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]  # fmt: skip
EWMA_PRINTED = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
                50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip


def test_ewma_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.4 (pmc324.htm), read in transcriptions: lambda 0.3, start 50, s 2.0539, k 3.

    Printed limits 52.5884 and 47.4115; exact 52.588432 and 47.411568. None out.
    """
    points = ewma_chart(EWMA_DATA, 50, 2.0539, weight=0.3, width=3, from_start=False)
    assert [point.ewma for point in points] == pytest.approx(EWMA_PRINTED, abs=5e-3)
    assert [point.high for point in points] == pytest.approx([52.588432] * 20, abs=5e-7)
    assert [point.low for point in points] == pytest.approx([47.411568] * 20, abs=5e-7)
    assert points[0].high == pytest.approx(52.5884, abs=2e-4)
    assert points[0].low == pytest.approx(47.4115, abs=2e-4)
    assert not any(point.out for point in points)


def test_ewma_start_up_limits() -> None:
    """The same data with exact limits; computed from the formula only."""
    points = ewma_chart(EWMA_DATA, 50, 2.0539)
    assert [point.high for point in points[:5]] == pytest.approx(
        [51.84851, 52.25639, 52.43141, 52.51272, 52.55161], abs=5.01e-6
    )


CUSUM_DATA = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
              324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]  # fmt: skip
HIGH = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04]
LOW = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0]
EXACT_HIGH = {5: 0.0325, 13: 3.0075, 14: 4.94, 15: 7.4475, 16: 10.63, 17: 11.9875, 18: 14.445, 19: 16.0025, 20: 19.035}


def test_cusum_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.3 (pmc323.htm), read in transcriptions: target 325, k 0.3175, h 4.1959.

    The page mixes its rounding of halves, hence 0.006. First signal at group 14. The exact sums are computed.
    """
    points = cusum_chart(CUSUM_DATA, 325, 0.3175, 4.1959)
    assert [point.high_sum for point in points] == pytest.approx(HIGH, abs=0.006)
    assert [point.low_sum for point in points] == pytest.approx(LOW, abs=0.006)
    assert next(place for place, point in enumerate(points, start=1) if point.out) == 14
    assert {place: points[place - 1].high_sum for place in EXACT_HIGH} == pytest.approx(EXACT_HIGH, abs=1e-9)


# https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml, y then x, as NIST lists them
NORRIS = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5),
    (668.5, 666.3), (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4),
    (0.1, 0.6), (778.1, 775.5), (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6),
    (557.7, 556.0), (228.3, 228.1), (998.0, 995.8), (888.8, 887.6), (119.6, 120.2), (0.3, 0.3),
    (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2), (998.5, 999.0), (778.9, 779.0),
    (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9), (0.2, 0.5),
]  # fmt: skip


def norris() -> tuple[list[float], list[float]]:
    return [x for _, x in NORRIS], [y for y, _ in NORRIS]


def test_norris() -> None:
    """NIST StRD Norris, certified values (read in transcriptions); 1e-9 relative, double precision reaches 1e-12."""
    line = fit_line(*norris())
    sse = line.residual_sd**2 * (line.n - 2)
    found = (line.intercept, line.slope, line.se_intercept, line.se_slope, line.residual_sd, line.r2, sse)
    certified = (
        -0.262323073774029,
        1.00211681802045,
        0.232818234301152,
        0.429796848199937e-03,
        0.884796396144373,
        0.999993745883712,
        26.6173985294224,
    )
    assert found == pytest.approx(certified, rel=1e-9)
    assert (line.slope / line.se_slope) ** 2 == pytest.approx(5436385.54079785, rel=1e-9)


def test_norris_in_exact_fractions() -> None:
    """The same sums in exact rational arithmetic, worked here."""
    xs = [Fraction(str(x)) for _, x in NORRIS]
    ys = [Fraction(str(y)) for y, _ in NORRIS]
    x_mean, y_mean = sum(xs) / 36, sum(ys) / 36
    slope = sum((x - x_mean) * (y - y_mean) for x, y in zip(xs, ys, strict=True)) / sum((x - x_mean) ** 2 for x in xs)
    line = fit_line(*norris())
    assert line.slope == pytest.approx(float(slope), rel=1e-14)
    assert line.intercept == pytest.approx(float(y_mean - slope * x_mean), rel=1e-12)


@pytest.mark.parametrize(
    ("x", "middle", "prediction", "mean"),
    [
        (0, -0.26232307, (-2.12165354, 1.59700740), (-0.73546665, 0.21082050)),
        (100, 99.94935873, (98.10523854, 101.79347891), (99.54004918, 100.35866828)),
        (500, 500.79608594, (498.97179405, 502.62037782), (500.48819647, 501.10397540)),
        (1100, 1102.06617675, (1100.14870846, 1103.98364504), (1101.40026408, 1102.73208942)),
    ],
)
def test_prediction_on_norris(
    x: float, middle: float, prediction: tuple[float, float], mean: tuple[float, float]
) -> None:
    """Computed with statsmodels' OLS.get_prediction; not certified by NIST."""
    line = fit_line(*norris())
    found, about = line.prediction(x), line.mean_interval(x)
    assert (found.low, found.middle, found.high) == pytest.approx((prediction[0], middle, prediction[1]), abs=6e-9)
    assert (about.low, about.high) == pytest.approx(mean, abs=6e-9)


def test_students_t() -> None:
    """t(0.975, 34) = 2.0322445093; and scipy.stats.t."""
    line = fit_line(*norris())
    assert line.t(0.95) == pytest.approx(2.0322445093, abs=5e-11)
    assert line.t(0.8) == pytest.approx(student.ppf(0.9, 34), rel=1e-12)


def test_line_as_scipy_fits_it() -> None:
    """scipy.stats.linregress."""
    xs = [0.0, 1.5, 2.0, 3.7, 5.1, 8.0]
    ys = [41.0, 42.2, 41.7, 44.0, 45.5, 47.1]
    line, other = fit_line(xs, ys), linregress(xs, ys)
    assert (line.slope, line.intercept, line.se_slope, line.se_intercept, math.sqrt(line.r2)) == pytest.approx(
        (other.slope, other.intercept, other.stderr, other.intercept_stderr, other.rvalue), rel=1e-10
    )


def test_the_robust_slope_is_that_of_scipy() -> None:
    """scipy.stats.theilslopes: the slope of Theil (1950) with the interval of Sen (1968), also where y ties."""
    rng = Random(8)
    for n in (3, 4, 9, 25, 60):
        x = [float(place) + rng.choice((0.0, 0.25)) for place in range(n)]
        y = [round(5 - 0.7 * each + rng.gauss(0, 2), 1 if n % 2 else 3) for each in x]
        for level in (0.9, 0.95):
            ours, theirs = robust_slope([list(zip(x, y, strict=True))], level), theilslopes(y, x, level)
            assert ours is not None
            assert ours.middle == pytest.approx(theirs.slope, abs=1e-12)
            assert (ours.low, ours.high) == pytest.approx((theirs.low_slope, theirs.high_slope), abs=1e-12)


@pytest.mark.parametrize(
    ("weight", "width", "shift", "told"),
    [(0.1, 2.814, 0, 500), (0.2, 2.962, 0, 500), (0.1, 2.814, 1, 10.3), (0.2, 2.962, 1, 10.5)],
)
def test_how_long_an_ewma_runs(weight: float, width: float, shift: float, told: float) -> None:
    """From memory, after the tables of Lucas and Saccucci (Technometrics 32, 1990)."""
    assert ewma_run_length(weight, width, shift) == pytest.approx(told, rel=0.02)


@pytest.mark.parametrize(
    ("limit", "shift", "told"),
    [(4, 0, 168), (4, 1, 8.38), (4, 1.5, 4.75), (4, 2, 3.34), (5, 0, 465), (5, 1, 10.4), (5, 1.5, 5.75), (5, 2, 4.01)],
)
def test_how_long_a_cusum_runs(limit: float, shift: float, told: float) -> None:
    """From memory, after the table for slack 0.5 that stands in textbooks and in the NIST handbook, 6.3.2.3.1."""
    assert cusum_run_length(0.5, limit, shift) == pytest.approx(told, rel=0.01)


def test_surprises_are_recursive_residuals() -> None:
    """Every reading taken in, and hardly anything known beforehand: statsmodels 0.15.0, recursive_olsresiduals, over
    the standard deviation of those before, as a normal deviate by scipy.stats."""
    rng = Random(3)
    x = [float(place) for place in range(12)]
    y = [-60 + 0.5 * at + rng.gauss(0, 1) for at in x]
    found = surprises(x, y, usual_sd=1.0, worth=1e-9, leave_out=100)
    with quietly():
        models = oracle("statsmodels.api")
        diagnostic = oracle("statsmodels.stats.diagnostic")
        fitted = models.OLS(y, models.add_constant(x)).fit()
        scaled = diagnostic.recursive_olsresiduals(fitted, skip=2)[4]
    for place in range(3, 12):
        sd = fit_line(x[:place], y[:place]).residual_sd
        t = scaled[place] / sd
        assert found[place] == pytest.approx(float(norm.isf(student.sf(t, place - 2))), rel=1e-5)
    assert found[:3] == [None, None, None]
