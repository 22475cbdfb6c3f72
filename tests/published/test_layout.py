"""Groove lengths of a side laid out, against numerical integration, and its spirals against the standard."""

import math
from itertools import pairwise

import pytest
from scipy.integrate import quad

from shop.calc.groove import DISCS, HOLE_MM, RPM
from shop.calc.layout import Kind, Spirals, lay_out, plan_music

SIDES = [
    (12, "33", [221, 305, 262, 412], [2, 2, 3], 110),
    (12, "45", [400], [], 130),
    (10, "78", [180], [], 230),
    (7, "45", [150, 95], [4], 160),
    (12, "33", [2400], [], 96),  # does not fit, and is as long as it would be
    (12, "33", [240, 300], [660], 130),  # eleven minutes of pause: 367 turns
]


@pytest.mark.parametrize("side", SIDES, ids=lambda side: f"{side[0]}-{side[1]}-{len(side[2])}")
def test_lengths_are_those_of_the_integral(side: tuple[int, str, list[float], list[float], float]) -> None:
    """Arc length in polar coordinates, integral of sqrt(r^2 + (dr/dt)^2) dt, by scipy.integrate.quad (QUADPACK)."""
    disc, speed, titles, pauses, pitch = side
    laid = lay_out(DISCS[disc], titles, pauses, RPM[speed], 56, 20, pitch_um=pitch)
    for one in laid.stretches:
        outer, angle = one.from_mm / 2, 2 * math.pi * one.turns
        fall = one.width_mm / angle

        def speed_of(t: float, outer: float = outer, fall: float = fall) -> float:
            return math.hypot(outer - fall * t, fall)

        # In pieces of some turns each, for QUADPACK gives up on very many oscillations, and none oscillates here.
        cuts = [angle * step / 8 for step in range(9)]
        length = math.fsum(quad(speed_of, low, high, epsabs=1e-9)[0] for low, high in pairwise(cuts))
        assert one.length_m == pytest.approx(length / 1000, abs=1e-6)


@pytest.mark.parametrize("pause", [0.5, 2, 24, 25, 30, 660])
@pytest.mark.parametrize("pitch", [None, 76, 140])
def test_the_grooves_of_a_band_never_overlap_and_the_room_it_takes_is_that_of_its_turns(
    pause: float, pitch: float | None
) -> None:
    """Radius against the integral of the pitch over the turns, by scipy.integrate.quad; groove 56 um, land 20 um."""
    laid = lay_out(DISCS[12], [240, 300], [pause], RPM["33"], 56, 20, pitch_um=pitch or 76)
    band = next(one for one in laid.stretches if one.kind == Kind.BAND)
    turns = pause * RPM["33"] / 60
    pitch_mm = max(0.8 / turns, 0.076)
    assert band.width_mm == pytest.approx(quad(lambda _: pitch_mm, 0, turns)[0], abs=1e-9)
    assert 1000 * band.width_mm / band.turns >= 76 - 1e-9
    plan = plan_music(DISCS[12], [240, 300], [pause], RPM["33"], 56, 20, pitch_um=pitch)
    music_mm = 540 * RPM["33"] / 60 * (pitch or 76) / 1000
    room_mm = (DISCS[12].outer_mm - DISCS[12].inner_mm) / 2
    assert plan.spare_mm == pytest.approx(room_mm - music_mm - band.width_mm)
    if pitch is not None:
        assert plan.inner_mm == pytest.approx(DISCS[12].outer_mm - 2 * (music_mm + band.width_mm))
        assert laid.last_groove_mm == pytest.approx(
            DISCS[12].outer_mm - 2 * (540 * RPM["33"] / 60 * pitch / 1000 + band.width_mm)
        )


def test_a_side_with_bands_is_as_long_as_the_shared_figures_for_its_turns() -> None:
    """K-1, computed: 20 minutes at 33 1/3 from 292.6 to 120.65 mm are 432.754397 m."""
    laid = lay_out(DISCS[12], [1200], [], RPM["33"], 56, 20, pitch_um=85.975 * 1000 / (20 * RPM["33"]))
    music = next(one for one in laid.stretches if one.kind == Kind.MUSIC)
    assert music.to_mm == pytest.approx(120.65, abs=1e-9)
    assert music.length_m == pytest.approx(432.754397, abs=1e-6)


def test_the_spirals_begin_within_the_standard() -> None:
    """IEC 60098:1987, second hand (recspecs): lead-in pitch 1.2 +- 0.4 mm, lead-out 6.4 +- 3.2 mm, a turn or more."""
    usual = Spirals()
    assert abs(usual.lead_in_pitch_mm - 1.2) <= 0.4
    for disc, minutes in ((12, 22), (12, 9), (10, 12), (7, 3)):
        laid = lay_out(DISCS[disc], [60 * minutes], [], RPM["33"], 56, 20, pitch_um=100)
        out = next(one for one in laid.stretches if one.kind == Kind.LEAD_OUT)
        assert out.turns >= 1
        assert abs(out.width_mm / out.turns - 6.4) <= 3.2


def test_edges_and_labels() -> None:
    """JIS S8502-1973: outer diameter 301 +- 2, 251 +- 2, 175 +- 1; label less than 102, 93; hole 7.24 +0.09/-0."""
    assert [(disc.edge_mm, disc.label_mm) for disc in DISCS.values()] == [(301, 102), (251, 102), (175, 93)]
    assert HOLE_MM == 7.24
    for disc in DISCS.values():
        assert disc.edge_mm > disc.outer_mm > disc.inner_mm > disc.finishing_mm > disc.label_mm
