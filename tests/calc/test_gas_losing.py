"""Gas that went and that nothing explains, told from readings of the gauge alone."""

import random
from itertools import pairwise

from shop.calc.drift import Estimate
from shop.calc.gas import GasHabit, Stood, gas_habit, gas_losses, without_losses

#: Grams in a bar and in a degree of a 50 l cylinder, roughly.
BAR_G, WARM_G = 55.0, 35.0
STATED = GasHabit(side_g=60.0, side_most_g=180.0)


def stood(day: float, bar: float, sides: int = 0) -> Stood:
    return Stood(day, sides, BAR_G * bar, BAR_G, BAR_G, WARM_G)


def test_forty_bar_without_a_side_are_a_loss_and_ten_are_not() -> None:
    (loss,) = gas_losses([stood(0, 190), stood(1, 150)], STATED)
    assert (loss.first, loss.last, loss.sides) == (0, 1, 0)
    assert loss.gone_g == 40 * BAR_G
    assert loss.used_g == 0
    assert gas_losses([stood(0, 190), stood(1, 180)], STATED) == []


def test_sides_explain_what_they_take_and_no_more() -> None:
    assert gas_losses([stood(0, 190), stood(1, 190 - 20 * 60 / BAR_G, 20)], STATED) == []
    (loss,) = gas_losses([stood(0, 190), stood(1, 60, 2)], STATED)
    assert (loss.sides, loss.used_g) == (2, 120)
    assert loss.unexplained_g == 130 * BAR_G - 120


def test_more_gas_than_before_is_no_loss_and_a_run_of_one_neither() -> None:
    assert gas_losses([stood(0, 100), stood(1, 140)], STATED) == []
    assert gas_losses([stood(0, 100)], STATED) == []
    assert gas_losses([], STATED) == []


def test_what_comes_bit_by_bit_shows_as_well() -> None:
    """4 bar a day lie within the error of a reading; a week of them does not."""
    run = [stood(day, 190 - 4 * day) for day in range(8)]
    losses = gas_losses(run, STATED)
    assert losses
    assert losses[0].last - losses[0].first > 1
    for earlier, later in pairwise(losses):
        assert earlier.last <= later.first


def test_a_room_that_uses_much_besides_is_known_to() -> None:
    run = [stood(day, 190 - 12 * day) for day in range(13)]
    habit = gas_habit([run], None, 60.0)
    assert habit.is_learnt
    assert habit.other_g == 12 * BAR_G
    assert gas_losses(run, habit) == []
    assert gas_losses([*run, stood(13, 190 - 12 * 13 - 22)], habit)[0].last == 13


def test_too_few_steps_teach_nothing() -> None:
    habit = gas_habit([[stood(day, 190 - 12 * day) for day in range(8)]], Estimate(50, 60, 70), 80.0)
    assert not habit.is_learnt
    assert (habit.side_g, habit.side_most_g, habit.other_g) == (60, 70, 0)
    assert gas_habit([], None, 60.0) == STATED


def test_one_loss_moves_neither_the_habit_nor_hides_itself() -> None:
    bars = [190 - 3 * day for day in range(20)]
    calm = [stood(day, bar, 3 * day) for day, bar in enumerate(bars)]
    hit = [stood(day, bar - (40 if day >= 10 else 0), 3 * day) for day, bar in enumerate(bars)]
    assert gas_habit([calm], None, 55.0).spread_g == gas_habit([hit], None, 55.0).spread_g
    (loss,) = gas_losses(hit, gas_habit([hit], None, 55.0))
    assert (loss.first, loss.last) == (9, 10)
    assert [list(piece) for piece in without_losses(hit, [loss])] == [hit[:10], hit[10:]]


def test_a_dial_read_to_five_bar_seldom_raises_it() -> None:
    """A hundred rooms, 100 mornings each, some three sides a day at what a side takes or half as much again."""
    false = 0
    for seed in range(100):
        rng = random.Random(seed)
        bar, sides, run = 195.0, 0, []
        for day in range(100):
            run.append(stood(day, max(0, 5 * round((bar + rng.gauss(0, 1)) / 5)), sides))
            cut = rng.randrange(5) if bar > 30 else 0
            sides += cut
            bar -= sum(rng.uniform(40, 120) for _ in range(cut)) / BAR_G
        false += len(gas_losses(run[:7], STATED)) + len(gas_losses(run[-60:], gas_habit([run[-60:]], None, 80.0)))
    assert false <= 1
