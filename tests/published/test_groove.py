"""Groove geometry against published figures and sizes.

Sources of the formulas: elementary geometry; the arc length of an Archimedean spiral in closed form.
"Computed" rows were computed apart from this program (closed form and scipy.integrate.quad).

On these published figures nothing here rests: the inner radius of transcription discs (60.325 mm, IEC 98:1958) and of
DIN 45547 (57.50 mm); the tolerance of the cutting speed, the sense of rotation, the channels' walls, the tracking and
rake angles (IEC 60098:2020, 5.4 to 6.2); the tips of pick-ups of 1958; limits of angle and bottom radius (IEC and RIAA,
from memory); reference levels (RIAA and DIN, from memory).
"""

import math

import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from shop.calc.groove import (
    DISCS,
    RPM,
    chip_g,
    depth_um,
    groove_speed_mm_s,
    longest_minutes,
    pitch_from_lines,
    plan_side,
    section_um2,
    spiral_length_m,
)
from shop.cutting import plans

LP, SINGLE, OLD = RPM["33"], RPM["45"], RPM["78"]


@pytest.mark.parametrize(("angle", "width"), [(90, 56.000), (88, 54.079), (87, 53.142), (92, 57.990)], ids="{}".format)
def test_width_of_a_groove_28_um_deep(angle: float, width: float) -> None:
    """width = 2 d tan(angle / 2); computed. 56 um wide and about 28 deep: pspatialaudio.com/stylus_grooves.htm."""
    assert depth_um(width, angle) == pytest.approx(28, abs=5e-4)


# id, rpm, minutes, outer, inner, turns, pitch um, lines per inch, span, length m (None: not printed)
SIDES = [
    ("K-1", LP, 20, 292.6, 120.65, 666.667, 128.963, 196.96, 85.975, 432.754397),
    ("K-7", LP, 15, 241.8, 120.65, 500, 121.150, 209.66, None, 284.667571),
    ("K-8", SINGLE, 4, 168.3, 106.0, 180, 173.056, 146.77, None, 77.556504),
]


@pytest.mark.parametrize("row", SIDES, ids=lambda row: row[0])
def test_a_side_that_fills_its_span(
    row: tuple[str, float, float, float, float, float, float, float, float, float],
) -> None:
    """K-1, K-7, K-8; computed."""
    _, rpm, minutes, outer, inner, turns, pitch, lines, span, length = row
    plan = plan_side(minutes, rpm, outer, inner, 56, 20)
    assert plan.turns == pytest.approx(turns, abs=5e-4)
    assert plan.pitch_um == pytest.approx(pitch, abs=5.01e-4)
    assert plan.lines_per_inch == pytest.approx(lines, abs=5.01e-3)
    assert plan.length_m == pytest.approx(length, abs=1e-6)
    assert span is None or plan.span_mm == pytest.approx(span, abs=5e-4)
    assert plan.inner_mm == pytest.approx(inner)


def test_groove_speed_at_both_ends() -> None:
    """K-1; computed."""
    plan = plan_side(20, LP, 292.6, 120.65, 56, 20)
    assert plan.outer_speed_mm_s == pytest.approx(510.68, abs=5e-3)
    assert plan.inner_speed_mm_s == pytest.approx(210.57, abs=5e-3)


# id, width um, tip radius um, length m, section um2 (None: not printed), volume cm3
CHIPS = [
    ("K-2", 56, 0, 432.754397, 784, 0.33928),
    ("K-3", 75, 0, 432.754397, 1406.25, 0.60856),
    ("K-4", 56, 6, 432.754397, 776.3, 0.33594),
    ("K-5", 56, 0, 470.959650, None, 0.36923),
    ("K-7", 56, 0, 284.667571, None, 0.22318),
    ("K-8", 56, 0, 77.556504, None, 0.06080),
    ("K-10", 150, 0, 190.716557, None, 1.0728),
]


@pytest.mark.parametrize(("row", "width", "tip", "length", "section", "volume"), CHIPS)
def test_section_and_volume_of_chip(
    row: str, width: float, tip: float, length: float, section: float | None, volume: float
) -> None:
    """Computed."""
    assert section is None or section_um2(width, 90, tip) == pytest.approx(section, abs=0.05)
    assert chip_g(width, length, 1.0, tip) == pytest.approx(volume, rel=5e-5, abs=5e-6)


@pytest.mark.parametrize(
    ("width", "density", "grams"),
    [(56, 1.4, 0.475), (56, 1.5, 0.509), (56, 1.6, 0.543), (75, 1.4, 0.852), (75, 1.5, 0.913), (75, 1.6, 0.974)],
)
def test_mass_of_chip(width: float, density: float, grams: float) -> None:
    """K-2, K-3; computed."""
    assert chip_g(width, 432.754397, density) == pytest.approx(grams, abs=5.01e-4)


def test_depth_with_a_round_tip() -> None:
    """K-4; computed. Tip radius 6 um (0.25 mil): pspatialaudio.com/stylus_grooves.htm."""
    assert depth_um(56, 90, 6) == pytest.approx(25.51, abs=5e-3)


def test_a_given_pitch_says_where_it_ends() -> None:
    """K-5; computed."""
    plan = plan_side(20, LP, 292.6, 100, 56, 20, pitch_um=pitch_from_lines(250))
    assert plan.inner_mm == pytest.approx(157.133, abs=5e-4)
    assert plan.length_m == pytest.approx(470.959650, abs=1e-6)


def test_an_old_speed() -> None:
    """K-10; computed."""
    plan = plan_side(4, OLD, 292.6, 95.25, 150, 50)
    assert plan.turns == pytest.approx(313.043, abs=5e-4)
    assert plan.lines_per_inch == pytest.approx(80.58, abs=5e-3)
    assert plan.length_m == pytest.approx(190.716557, abs=1e-6)


def test_printed_23_minutes_at_300_lines() -> None:
    """K-11, published in a mastering article: 766 grooves, 2.553 in, inner 6.394 in; exact turns give 6.389."""
    plan = plan_side(23, LP, 11.5 * 25.4, 4.75 * 25.4, 56, 20, pitch_um=pitch_from_lines(300))
    assert int(plan.turns) == 766
    assert plan.span_mm / 25.4 == pytest.approx(2.553, abs=3e-3)
    assert plan.inner_mm / 25.4 == pytest.approx(6.389, abs=5e-4)
    assert pytest.approx(6.394, abs=1e-3) == (11.5 - 2 * 766 / 300)


def test_printed_22_minutes_in_three_and_an_eighth_inches() -> None:
    """K-12, published in a mastering article: 733 grooves, 234 per inch; exact 234.67."""
    outer = 11.5 * 25.4
    plan = plan_side(22, LP, outer, outer - 2 * 3.125 * 25.4, 56, 20)
    assert int(plan.turns) == 733
    assert plan.lines_per_inch == pytest.approx(234.67, abs=5e-3)


def test_printed_groove_speeds() -> None:
    """K-13, published in a mastering article: 8.72 in/s at 5 in, about 20 at the outer edge, 1.8 s a turn."""
    assert groove_speed_mm_s(5 * 25.4, LP) / 25.4 == pytest.approx(8.727, abs=5e-4)
    assert groove_speed_mm_s(11.5 * 25.4, LP) / 25.4 == pytest.approx(20.07, abs=5e-3)
    assert pytest.approx(1.8) == 60 / LP


def test_printed_claim_that_half_the_outer_diameter_is_the_best_inner_one() -> None:
    """K-14, published claim: for a least groove speed, minutes are most with the inner diameter half the outer.

    At a fixed speed of the innermost groove, rpm goes with 1 / inner, so minutes go with inner (outer - inner).
    """

    def loss(inner: float) -> float:
        rpm = 200 * 60 / (math.pi * inner)
        return -longest_minutes(rpm, 292.6, inner, 100)

    best = minimize_scalar(loss, bounds=(60, 280), method="bounded", options={"xatol": 1e-6}).x
    assert best == pytest.approx(292.6 / 2, rel=1e-5)


LINES = (150, 180, 200, 220, 240, 260, 280, 300)
MINUTES = [
    ("K-15", LP, 292.6, 120.65, LINES, (15.23, 18.28, 20.31, 22.34, 24.37, 26.40, 28.43, 30.46)),
    ("K-15", SINGLE, 292.6, 120.65, LINES, (11.28, 13.54, 15.04, 16.55, 18.05, 19.56, 21.06, 22.57)),
    ("K-16", SINGLE, 168.3, 106, (150, 180, 200, 240, 300), (4.09, 4.91, 5.45, 6.54, 8.18)),
]


@pytest.mark.parametrize(("row", "rpm", "outer", "inner", "lines", "minutes"), MINUTES)
def test_minutes_at_a_fixed_pitch(
    row: str, rpm: float, outer: float, inner: float, lines: tuple[float, ...], minutes: tuple[float, ...]
) -> None:
    """Computed."""
    found = [longest_minutes(rpm, outer, inner, pitch_from_lines(each)) for each in lines]
    assert found == pytest.approx(minutes, abs=5.01e-3)


def test_speeds() -> None:
    """R-11: 78.26 = 3600/46 (60 Hz; RCA Review 1949 prints 78.26), 77.92 = 6000/77 (50 Hz; usenet 1984)."""
    assert RPM["78"] == pytest.approx(78.26, abs=5e-3)
    assert RPM["78 at 50 Hz"] == pytest.approx(77.92, abs=5e-3)


def test_sizes_of_the_recorded_surface() -> None:
    """R-1: IEC 60098:1987 as copied at biglobe.ne.jp/~yosh/recspecs.htm; R-2: JIS S8502-1973 at .../jis_s8502.htm.

    R-12, blank sizes: common practice, no source.
    """
    assert [(d.outer_mm, d.finishing_mm) for d in DISCS.values()] == [(292.6, 106.4), (241.8, 106.4), (168.3, 97.4)]
    assert [d.inner_mm for d in DISCS.values()] == [115.2, 115.2, 106]
    assert {d.record_in: d.blank_in for d in DISCS.values()} == {12: 14, 10: 12, 7: 10}
    assert abs(DISCS[7].finishing_mm - 97) <= 1  # JIS: 97 +- 1
    assert DISCS[12].outer_mm < 293  # JIS: music starts inside 293 and 242
    assert DISCS[10].outer_mm < 242


def test_sizes_of_other_sources() -> None:
    """Outer recorded radius: 146.05 mm in IEC 98:1958, 146.3 mm since IEC 1964 and BS 1928:1965 (the recspecs page).

    Nominal diameters in American practice: 302, 250, 175 mm (a web encyclopaedia); JIS allows 2, 2 and 1 mm either way.
    """
    assert DISCS[12].outer_mm == pytest.approx(2 * 146.3)
    assert 0 < DISCS[12].outer_mm - 2 * 146.05 < 1
    for disc, nominal, either_way in ((12, 302, 2), (10, 250, 2), (7, 175, 1)):
        assert abs(DISCS[disc].edge_mm - nominal) <= either_way


@pytest.mark.parametrize("lines", [75, 100, 200, 225, 300, 400])
def test_every_pitch_that_sources_quote_can_be_logged(lines: float) -> None:
    """The sources contradict each other: 300 to 400 lines an inch, about 100 for shellac (IASA TC-04, 5.3.1.2); 225 on
    average and up to 300, about 75 for 78s (a history page at acusd.edu, as quoted); rarely above 200 (pspatialaudio).
    """
    low, high = plans.PITCH_UM
    assert low <= pitch_from_lines(lines) <= high


@pytest.mark.parametrize("width", [25, 40, 55, 56])
def test_every_width_that_sources_quote_can_be_logged(width: float) -> None:
    """56 um typical, 25 at least (pspatialaudio.com/stylus_grooves.htm); 55 mono, 40 stereo on average (memory)."""
    low, high = plans.WIDTH_UM
    assert low <= width <= high


def test_density_of_chip() -> None:
    """Cast film 1.58 to 1.65 g/cm3: a nitrocellulose producer's data sheet, second hand. Chip is such a film, cut."""
    assert 1.58 <= plans.CHIP_DENSITY_G_CM3 <= 1.65


@pytest.mark.parametrize("pitch", [20, 128.963, 1000, 6400])
def test_arc_length_by_quadrature(pitch: float) -> None:
    """The integral of sqrt(r^2 + (dr/dtheta)^2) over the angle, by scipy.integrate.quad."""
    a = pitch / 1000 / (2 * math.pi)
    length, _ = quad(lambda r: math.sqrt(r * r + a * a) / a, 106.4 / 2, 292.6 / 2, epsabs=0, epsrel=1e-13)
    assert spiral_length_m(292.6, 106.4, pitch) == pytest.approx(length / 1000, rel=1e-12)
