"""A side laid out: its stretches follow each other without gap, and sum to what the plan says."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.groove import DISCS, RPM, plan_side
from shop.calc.layout import Kind, Spirals, first_groove_mm, lay_out, plan_music

LP = RPM["33"]
TITLES = [221.0, 305.0, 262.0, 412.0]
PAUSES = [2.0, 2.0, 3.0]


def test_one_title_is_planned_as_a_whole_side_is() -> None:
    assert plan_music(DISCS[12], [1200], [], LP, 56, 20) == plan_side(20, LP, 292.6, 115.2, 56, 20)


def test_bands_take_their_room_and_pauses_their_time() -> None:
    bare = plan_music(DISCS[12], [1200], [], LP, 56, 20, pitch_um=100)
    banded = plan_music(DISCS[12], TITLES, PAUSES, LP, 56, 20, pitch_um=100, spirals=Spirals(band_mm=1))
    assert sum(TITLES) == 1200
    assert banded.spare_mm == pytest.approx(bare.spare_mm - 3)
    assert banded.inner_mm == pytest.approx(bare.inner_mm - 6)
    assert banded.turns == pytest.approx(bare.turns + 7 * LP / 60)
    # 3 mm of radius is 30 turns at 0.1 mm: 54 s, of which the pauses give 7 back.
    assert banded.longest_minutes * 60 == pytest.approx(bare.longest_minutes * 60 - 54 + 7)


def test_titles_that_run_on_have_no_band() -> None:
    spirals = Spirals(lead_in_turns=0)
    laid = lay_out(DISCS[12], [300, 300], [0], LP, 56, 20, pitch_um=100, spirals=spirals)
    assert [one.kind for one in laid.stretches] == [Kind.MUSIC, Kind.MUSIC, Kind.LEAD_OUT, Kind.FINISHING]


def test_room_kept_for_the_run_out_lies_inside_the_last_groove() -> None:
    kept = plan_music(DISCS[12], [1200], [], LP, 56, 20, spirals=Spirals(run_out_mm=5))
    assert kept.inner_mm == pytest.approx(115.2 + 10)
    bare = plan_music(DISCS[12], [1200], [], LP, 56, 20, pitch_um=100)
    tight = plan_music(DISCS[12], [1200], [], LP, 56, 20, pitch_um=100, spirals=Spirals(run_out_mm=5))
    assert tight.spare_mm == pytest.approx(bare.spare_mm - 5)
    assert tight.inner_mm == pytest.approx(bare.inner_mm)
    assert tight.inner_speed_mm_s == pytest.approx(bare.inner_speed_mm_s)


def test_a_lead_in_wider_than_the_rim_takes_room_of_the_music() -> None:
    assert first_groove_mm(DISCS[12], Spirals()) == 292.6
    wide = Spirals(lead_in_turns=5, lead_in_pitch_mm=1.2)
    assert first_groove_mm(DISCS[12], wide) == pytest.approx(301 - 12)
    laid = lay_out(DISCS[12], [1200], [], LP, 56, 20, pitch_um=100, spirals=wide)
    assert laid.starts_mm == pytest.approx(301)
    assert laid.music_from_mm == pytest.approx(289)


def test_a_side_that_does_not_fit_is_laid_out_all_the_same_and_says_so() -> None:
    laid = lay_out(DISCS[12], [2400], [], LP, 56, 40, pitch_um=96)
    assert not laid.plan.fits
    assert laid.last_groove_mm < 115.2
    through = lay_out(DISCS[7], [3000], [], LP, 56, 40, pitch_um=96)
    assert through.last_groove_mm == 0
    assert [one.kind for one in through.stretches] == [Kind.LEAD_IN, Kind.MUSIC]


def test_bands_that_take_all_the_room_leave_none_for_music() -> None:
    plan = plan_music(DISCS[7], [10.0] * 24, [2.0] * 23, 45, 56, 20, spirals=Spirals(band_mm=3))
    assert not plan.fits
    assert plan.longest_minutes == pytest.approx(46 / 60, abs=0.02)  # the pauses alone


def test_a_lead_out_is_at_least_one_turn() -> None:
    """From where the music may last end on a 12 inch record, 4.4 mm are left: less than a turn at 6.4 mm."""
    laid = lay_out(DISCS[12], [1200], [], LP, 56, 20, pitch_um=88.7 * 1000 / (20 * LP))
    out = next(one for one in laid.stretches if one.kind == Kind.LEAD_OUT)
    assert out.turns == 1
    assert out.width_mm == pytest.approx(4.4)


@given(
    titles=st.lists(st.floats(5, 600), min_size=1, max_size=8),
    pause=st.floats(0, 6),
    pitch=st.floats(60, 200),
    disc=st.sampled_from([7, 10, 12]),
    speed=st.sampled_from(sorted(RPM)),
)
def test_stretches_follow_each_other_and_sum_up(
    titles: list[float], pause: float, pitch: float, disc: int, speed: str
) -> None:
    pauses = [pause] * (len(titles) - 1)
    laid = lay_out(DISCS[disc], titles, pauses, RPM[speed], 56, 2, pitch_um=pitch)
    at_mm, at_s = laid.starts_mm, 0.0
    for one in laid.stretches:
        assert one.from_mm == at_mm
        assert one.begins_s == pytest.approx(at_s)
        assert one.to_mm <= one.from_mm
        assert one.turns == pytest.approx(one.seconds * RPM[speed] / 60)
        # A spiral is never shorter than its turns at the inner diameter, nor longer by far than at the outer one.
        assert one.length_m >= math.pi * one.to_mm * one.turns / 1000 * (1 - 1e-9)
        assert one.length_m <= math.hypot(math.pi * one.from_mm * one.turns, one.width_mm) / 1000 * (1 + 1e-9)
        at_mm, at_s = one.to_mm, at_s + one.seconds
    if laid.last_groove_mm > 0:
        assert laid.last_groove_mm == pytest.approx(laid.plan.inner_mm)
    assert laid.plan.turns == pytest.approx((sum(titles) + sum(pauses)) * RPM[speed] / 60)


@pytest.mark.parametrize(("titles", "pauses"), [([], []), ([10.0], [2.0]), ([10.0, 20.0], []), ([0.0], [])])
def test_titles_and_pauses_that_make_no_side_are_refused(titles: list[float], pauses: list[float]) -> None:
    with pytest.raises(ValueError, match="titles_s"):
        plan_music(DISCS[12], titles, pauses, LP, 56, 20)


@pytest.mark.parametrize(
    ("field", "value"),
    [("lead_in_turns", -1), ("lead_in_pitch_mm", 0), ("band_mm", 11), ("lead_out_pitch_mm", 0), ("run_out_mm", -1)],
)
def test_spirals_no_lathe_cuts_are_refused(field: str, value: float) -> None:
    with pytest.raises(ValueError, match=field):
        Spirals(**{field: value})
