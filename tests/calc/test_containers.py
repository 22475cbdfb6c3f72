"""What is in an opened container by its weight, and how fast it is used."""

import pytest

from shop.calc.containers import lasts_days, ml_by_weight, pace


def test_volume_by_weight_is_mass_over_density():
    """By hand: 790.3 g of acetone at 790.3 kg/m3 are a litre; with a tare of 412.7 g it weighs 1203.0 g."""
    assert ml_by_weight(1203.0, 412.7, 790.3) == pytest.approx(1000.0)
    assert ml_by_weight(412.7, 412.7, 790.3) == 0
    assert ml_by_weight(412.7 + 395.15, 412.7, 790.3) == pytest.approx(500.0)


@pytest.mark.parametrize(
    ("typed", "named"),
    [((400.0, 412.7, 790.3), "gross_g"), ((500.0, -1.0, 790.3), "tare_g"), ((500.0, 400.0, 79.0), "density")],
)
def test_what_cannot_be_is_refused(typed, named):
    with pytest.raises(ValueError, match=named):
        ml_by_weight(*typed)


def test_a_steady_use_is_told_exactly():
    found = pace([(0, 1000), (10, 800), (20, 600), (30, 400)])
    assert found is not None
    assert found.a_day == (20.0, 20.0, 20.0)
    assert (found.readings, found.days) == (4, 30)
    assert lasts_days(400, found) == (20.0, 20.0, 20.0)


def test_one_misread_level_does_not_move_it():
    levels = [(day, 1000.0 - 20 * day) for day in range(0, 40, 4)]
    levels[5] = (20, 150.0)
    found = pace(levels, rise_ml=1000)
    assert found is not None
    assert found.a_day.middle == pytest.approx(20.0, abs=0.5)


def test_topping_up_begins_a_new_stretch():
    """Twice 20 ml a day: across the topping-up there is no slope."""
    found = pace([(0, 1000), (10, 800), (20, 600), (21, 1000), (31, 800), (41, 600)])
    assert found is not None
    assert found.a_day.middle == pytest.approx(20.0)
    assert found.readings == 6
    assert found.days == 40


def test_too_few_levels_tell_nothing():
    assert pace([]) is None
    assert pace([(0, 1000), (10, 900)]) is None
    assert pace([(0, 1000), (10, 900), (11, 1000), (12, 990)]) is None


def test_what_is_not_used_lasts():
    found = pace([(0, 1000), (10, 1000), (20, 1000)])
    assert found is not None
    assert lasts_days(1000, found)[1:] == (None, None)
