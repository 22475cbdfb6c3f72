"""The pace at which gas goes, and for how long it lasts."""

from datetime import date
from random import Random

import pytest

from shop.calc.drift import Estimate, robust_slope
from shop.calc.gas import GasPace, Gauged, gas_lasts, gas_pace, read_stamp, requalify_by


def story(rng: Random, *, side: float, idle: float, mornings: int, gauge_sd: float = 25.0) -> list[list[Gauged]]:
    """Readings of each morning, four or five sides a day, a fresh cylinder of 11 kg whenever one runs down."""
    runs: list[list[Gauged]] = [[]]
    grams, sides = 11_000.0, 0
    for day in range(mornings):
        if grams < 700:
            runs.append([])
            grams = 11_000.0
        runs[-1].append(Gauged(float(day), sides, grams + rng.gauss(0, gauge_sd)))
        cut = rng.choice((0, 4, 4, 5)) if day % 7 < 5 else 0
        grams -= idle + sum(side * rng.uniform(0.85, 1.15) for _ in range(cut))
        sides += cut
    return runs


def test_the_pace_is_found_and_its_interval_holds_it() -> None:
    held = 0
    for seed in range(60):
        pace = gas_pace(story(Random(seed), side=90.0, idle=0.0, mornings=60))
        assert pace.per_side is not None
        assert pace.per_side.middle == pytest.approx(90, rel=0.06)
        held += pace.per_side.low <= 90 <= pace.per_side.high
    assert held >= 51  # nine in ten, less what chance may take of 60


def test_a_misread_gauge_hardly_moves_it() -> None:
    runs = story(Random(3), side=90.0, idle=5.0, mornings=40)
    clean = gas_pace(runs)
    wrong = [[*run] for run in runs]
    wrong[0][10] = Gauged(wrong[0][10].day, wrong[0][10].sides, 400.0)
    moved = gas_pace(wrong)
    assert clean.per_side is not None
    assert moved.per_side is not None
    assert moved.per_side.middle == pytest.approx(clean.per_side.middle, rel=0.06)


def test_a_change_of_cylinder_is_no_use() -> None:
    one = [Gauged(float(day), 4 * day, 1500.0 - 360 * day) for day in range(4)]
    two = [Gauged(4.0 + day, 16 + 4 * day, 11_000.0 - 360 * day) for day in range(4)]
    pace = gas_pace([one, two])
    assert pace.per_side is not None
    assert pace.per_side.middle == pytest.approx(90)
    assert (pace.readings, pace.sides) == (8, 24)


@pytest.mark.parametrize(
    "runs",
    [
        [],
        [[Gauged(0.0, 0, 9000.0)]],
        [[Gauged(float(day), 0, 9000.0) for day in range(3)]],
        [[Gauged(float(day), 0, 9000.0 + day) for day in range(9)]],
    ],
)
def test_too_little_to_go_by_says_nothing(runs: list[list[Gauged]]) -> None:
    pace = gas_pace(runs)
    assert pace.per_side is None
    assert pace.per_day is None


NOTHING = GasPace(None, None, 0.0, 0, 0)
PACE = GasPace(Estimate(85, 90, 95), Estimate(200, 250, 300), 10.0, 30, 90)


def test_booked_sides_bring_it_forward() -> None:
    usual = gas_lasts(2500.0, {}, PACE, stated_side_g=95.0)
    booked = gas_lasts(2500.0, {0: 10, 1: 10, 2: 10}, PACE, stated_side_g=95.0)
    assert usual is not None
    assert booked is not None
    assert (usual.likely, usual.by_bookings) == (9, False)
    assert (booked.likely, booked.by_bookings) == (2, True)
    assert booked.soonest is not None
    assert booked.soonest <= 2


def test_the_interval_holds_the_day_nine_times_in_ten() -> None:
    """Days of cutting drawn at random, with the true pace: how often the gas runs out between the ends."""
    held = many = 0
    for seed in range(80):
        rng = Random(seed)
        pace = gas_pace(story(rng, side=90.0, idle=6.0, mornings=50))
        booked = {day: rng.choice((4, 4, 5)) for day in range(60) if day % 7 < 5}
        usable = rng.uniform(2000, 8000)
        lasts = gas_lasts(usable + rng.gauss(0, 60), booked, pace, stated_side_g=95.0, gauge_sd_g=60.0)
        assert lasts is not None
        left, day = usable, -1
        while left > 0:
            day += 1
            left -= 6.0 + sum(90.0 * rng.uniform(0.85, 1.15) for _ in range(booked.get(day, 0)))
        many += 1
        held += (lasts.soonest or 0) <= day <= (lasts.latest if lasts.latest is not None else 10_000)
    assert held / many >= 0.8


def test_without_readings_the_shops_own_figure_counts_with_its_doubt() -> None:
    lasts = gas_lasts(1000.0, {0: 4, 1: 4, 2: 4, 3: 4}, NOTHING, stated_side_g=100.0)
    assert lasts is not None
    assert (lasts.soonest, lasts.likely, lasts.latest) == (1, 2, 3)
    assert gas_lasts(1000.0, {}, NOTHING, stated_side_g=100.0) is None
    assert gas_lasts(1000.0, {0: 4}, NOTHING, stated_side_g=0.0) is None


def test_an_empty_cylinder_lasts_no_day_and_a_small_use_beyond_telling() -> None:
    none_left = gas_lasts(0.0, {0: 1}, PACE, stated_side_g=95.0)
    assert none_left is not None
    assert (none_left.soonest, none_left.likely, none_left.latest) == (0, 0, 0)
    slow = GasPace(None, Estimate(0.5, 1.0, 1.5), 0.0, 30, 0)
    for_long = gas_lasts(9000.0, {}, slow, stated_side_g=0.0)
    assert for_long is not None
    assert for_long.likely is None


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="usable_g"):
        gas_lasts(-1.0, {}, PACE, stated_side_g=95.0)
    with pytest.raises(ValueError, match="day"):
        gas_lasts(1.0, {-1: 2}, PACE, stated_side_g=95.0)
    with pytest.raises(ValueError, match="level"):
        robust_slope([[(0, 1), (1, 2)]], level=1.0)
    assert robust_slope([[(1, 1), (1, 2)]]) is None


TODAY = date(2026, 5, 20)


@pytest.mark.parametrize(
    ("typed", "month", "star"),
    [
        ("06-19", date(2019, 6, 1), False),
        ("06-19*", date(2019, 6, 1), True),
        ("6 / 19 ★", date(2019, 6, 1), True),
        ("06-A123-19", date(2019, 6, 1), False),
        ("05 26", date(2026, 5, 1), False),
        ("06-57", date(1957, 6, 1), False),
        ("06-1926", date(1926, 6, 1), False),
        ("2019-06", date(2019, 6, 1), False),
        ("06-2019", date(2019, 6, 1), False),
    ],
)
def test_a_stamp_is_read(typed: str, month: date, star: bool) -> None:
    stamp = read_stamp(typed, TODAY)
    assert (stamp.month, stamp.has_star) == (month, star)


@pytest.mark.parametrize("typed", ["", "June 19", "13-19", "06-2026", "1880-05", "0619", "06-19-01-02"])
def test_what_is_no_stamp_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match=r"[Tt]hat|stamped"):
        read_stamp(typed, TODAY)


@pytest.mark.parametrize(("typed", "told"), [("06-26", "June 2026"), ("06-30", "June 2030"), ("05-56*", "May 2056")])
def test_two_digits_of_a_year_that_comes_soon_are_not_taken_for_a_century_ago(typed: str, told: str) -> None:
    with pytest.raises(ValueError, match=f"{told}, which is still to come.*write the year in full"):
        read_stamp(typed, TODAY)


def test_when_it_is_due() -> None:
    assert requalify_by(date(2019, 6, 1), 12) == date(2031, 6, 1)
    with pytest.raises(ValueError, match="years"):
        requalify_by(date(2019, 6, 1), 0)
