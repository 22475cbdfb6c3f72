"""Groove geometry: closed forms against plain reasoning, refusals, and what always holds."""

import itertools
import math
from dataclasses import astuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.groove import (
    DISCS,
    RPM,
    chip_g,
    depth_um,
    groove_speed_mm_s,
    lines_per_inch,
    longest_minutes,
    pitch_from_lines,
    plan_side,
    section_um2,
    spiral_length_m,
)

WIDE = {"minutes": 20, "rpm": 100 / 3, "outer_mm": 292.6, "inner_mm": 120.65, "width_um": 56, "land_um": 20}


def test_a_sharp_right_angled_vee_is_half_as_deep_as_wide() -> None:
    assert depth_um(56) == pytest.approx(28)
    assert section_um2(56) == pytest.approx(56 * 28 / 2)


@pytest.mark.parametrize("angle", [60, 87, 90, 92, 120])
@pytest.mark.parametrize("tip", [0, 3, 6])
def test_the_section_is_the_area_under_the_outline(angle: float, tip: float) -> None:
    """The outline drawn point by point: walls down to where they touch the round tip, then the arc."""
    half = math.radians(angle) / 2
    width, n = 56.0, 200_000
    centre = width / 2 / math.tan(half) - tip / math.sin(half)  # depth of the tip's centre below the surface
    touch = tip * math.cos(half)
    area = 0.0
    for i in range(n):
        x = (i + 0.5) * width / 2 / n
        wall = (width / 2 - x) / math.tan(half)
        depth = wall if x >= touch else centre + math.sqrt(tip * tip - x * x)
        area += 2 * depth * width / 2 / n
    assert section_um2(width, angle, tip) == pytest.approx(area, rel=1e-6)
    assert depth_um(width, angle, tip) == pytest.approx(centre + tip, rel=1e-9)


def test_a_tip_rounder_than_the_groove_is_refused() -> None:
    section_um2(56, 90, 39.5)
    with pytest.raises(ValueError, match=r"tip_radius_um must be at least 0 and at most 39.59"):
        section_um2(56, 90, 40)


def test_the_spiral_is_as_long_as_its_drawn_line() -> None:
    outer, inner, pitch = 200.0, 150.0, 5000.0
    turns, steps = (outer - inner) / 2 / (pitch / 1000), 100_000
    points = []
    for i in range(steps + 1):
        theta = 2 * math.pi * turns * i / steps
        radius = outer / 2 - pitch / 1000 * theta / (2 * math.pi)
        points.append((radius * math.cos(theta), radius * math.sin(theta)))
    drawn = sum(math.dist(a, b) for a, b in itertools.pairwise(points))
    assert spiral_length_m(outer, inner, pitch) * 1000 == pytest.approx(drawn, rel=1e-8)


def test_the_spiral_from_the_centre() -> None:
    assert spiral_length_m(10, 0, 1000) > math.pi * 5 * 5 / 1000


def test_lines_and_pitch_are_each_others_reciprocal() -> None:
    assert lines_per_inch(pitch_from_lines(220)) == pytest.approx(220)
    assert pitch_from_lines(254) == pytest.approx(100)


def test_speed_names_are_those_of_the_trade() -> None:
    assert RPM["33"] * 3 == pytest.approx(100)
    assert groove_speed_mm_s(100, 60) == pytest.approx(100 * math.pi)
    assert 60 / RPM["33"] == pytest.approx(1.8)


def test_chip_of_a_plain_cut() -> None:
    assert chip_g(100, 400, 1.5) == pytest.approx(100 * 100 / 4 * 400 * 1e-6 * 1.5)
    assert chip_g(56, 400, 1.5, 6) < chip_g(56, 400, 1.5)
    assert chip_g(56, 0, 1.5) == 0


def test_a_side_with_room_to_spare() -> None:
    plan = plan_side(**WIDE)
    assert plan.fits
    assert plan.short_by_mm == plan.short_by_minutes == 0
    assert plan.inner_mm == pytest.approx(120.65)
    assert plan.spare_mm == pytest.approx(85.975 - 2000 / 3 * 0.076)
    assert plan.longest_minutes == pytest.approx(longest_minutes(100 / 3, 292.6, 120.65, 76))
    assert plan.land_um == pytest.approx(plan.pitch_um - 56)


def test_a_side_too_long_says_by_how_much() -> None:
    plan = plan_side(**{**WIDE, "minutes": 40})
    assert not plan.fits
    assert plan.spare_mm == 0
    assert plan.short_by_mm == pytest.approx(4000 / 3 * 0.076 - 85.975)
    assert plan.short_by_minutes == pytest.approx(40 - plan.longest_minutes)
    assert plan_side(**{**WIDE, "minutes": 40 - plan.short_by_minutes}).fits


def test_a_given_pitch_says_where_the_last_groove_lies() -> None:
    plan = plan_side(**WIDE, pitch_um=100)
    assert plan.fits
    assert plan.inner_mm == pytest.approx(292.6 - 2 * 2000 / 3 * 0.1)
    assert plan.spare_mm == pytest.approx((plan.inner_mm - 120.65) / 2)
    tight = plan_side(**WIDE, pitch_um=150)
    assert not tight.fits
    assert tight.inner_mm < 120.65
    assert tight.short_by_mm == pytest.approx((120.65 - tight.inner_mm) / 2)


def test_a_side_that_would_run_through_the_centre_still_answers() -> None:
    plan = plan_side(**{**WIDE, "minutes": 60}, pitch_um=160)
    assert not plan.fits
    assert plan.inner_mm == 0
    assert plan.inner_speed_mm_s == 0
    assert plan.length_m == pytest.approx(spiral_length_m(292.6, 0, 160))


def test_room_kept_back_counts() -> None:
    plan = plan_side(**WIDE, extra_mm=10)
    assert plan.span_mm == pytest.approx(75.975)
    assert plan.inner_mm == pytest.approx(120.65)
    given = plan_side(**WIDE, pitch_um=100, extra_mm=10)
    assert given.inner_mm == pytest.approx(292.6 - 20 - 2 * 2000 / 3 * 0.1)


def test_a_side_that_just_fits_fits() -> None:
    minutes = longest_minutes(45, 168.3, 106, 76)
    assert plan_side(minutes, 45, 168.3, 106, 56, 20).fits
    assert plan_side(minutes, 45, 168.3, 106, 56, 20, pitch_um=76).fits


@pytest.mark.parametrize(
    ("wrong", "name"),
    [
        ({"rpm": 0}, "rpm"),
        ({"rpm": -33}, "rpm"),
        ({"minutes": 0}, "minutes"),
        ({"inner_mm": 292.6}, "inner_mm"),
        ({"inner_mm": 300}, "inner_mm"),
        ({"outer_mm": math.nan}, "outer_mm"),
        ({"width_um": 0}, "width_um"),
        ({"land_um": -1}, "land_um"),
        ({"pitch_um": 55}, "pitch_um"),
        ({"pitch_um": math.inf}, "pitch_um"),
        ({"extra_mm": 86}, "extra_mm"),
        ({"extra_mm": -1}, "extra_mm"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(wrong: dict[str, float], name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} must be"):
        plan_side(**{**WIDE, **wrong})


def test_every_disc_is_smaller_than_its_blank_and_ends_outside_the_finishing_groove() -> None:
    for inches, disc in DISCS.items():
        assert disc.record_in == inches
        assert disc.outer_mm < disc.record_in * 25.4 < disc.blank_in * 25.4
        assert disc.finishing_mm < disc.inner_mm < disc.outer_mm
        assert "IEC" in disc.source
        assert "no source" in disc.source


sizes = st.floats(20, 600)


@given(
    minutes=st.floats(0.01, 1440),
    rpm=st.floats(1, 200),
    outer=sizes,
    share=st.floats(0.01, 0.99),
    width=st.floats(1, 1000),
    land=st.floats(0, 1000),
    more=st.none() | st.floats(0, 5000),
    kept=st.floats(0, 0.99),
)
def test_a_plan_is_finite_and_agrees_with_itself(
    minutes: float,
    rpm: float,
    outer: float,
    share: float,
    width: float,
    land: float,
    more: float | None,
    kept: float,
) -> None:
    inner = max(1.0, outer * share)
    plan = plan_side(
        minutes,
        rpm,
        outer,
        inner,
        width,
        land,
        pitch_um=None if more is None else width + more,
        extra_mm=kept * (outer - inner) / 2,
    )
    assert all(math.isfinite(value) for value in astuple(plan))
    assert plan.fits == (plan.short_by_mm == 0)
    assert plan.fits == (plan.short_by_minutes == 0)
    assert plan.length_m >= 0
    assert 0 <= plan.inner_mm <= outer
    if plan.inner_mm > 0 and kept < 0.5:
        circles = math.pi * (outer - 2 * kept * (outer - inner) / 2 + plan.inner_mm) / 2 * plan.turns / 1000
        assert plan.length_m == pytest.approx(circles, rel=0.05, abs=0.5)
    if more is not None and plan.inner_mm > 1e-6:
        assert (plan.inner_mm >= inner - 1e-6) == plan.fits


@given(width=st.floats(1, 1000), angle=st.floats(20, 160), round_share=st.floats(0, 0.999))
def test_a_section_is_positive_and_a_tip_only_takes_away(width: float, angle: float, round_share: float) -> None:
    tip = round_share * width / (2 * math.cos(math.radians(angle) / 2))
    assert 0 < section_um2(width, angle, tip) <= section_um2(width, angle)
    assert 0 < depth_um(width, angle, tip) <= depth_um(width, angle)
