"""The lives that a calculation is given, looked at once and in one place."""

from collections.abc import Iterable

from shop.calc.bounds import flags, number, numbers
from shop.calc.life.weibull import MOST_HOURS


def check_entries(entered: Iterable[object], times: list[float], over: list[bool]) -> list[float]:
    """The hours at which each life came into view, all 0 where none are given; ValueError unless each is at most the
    hours of its life, and short of them for one that ended."""
    ages = numbers("entered", entered, most=100_000, at_least=0, at_most=MOST_HOURS) or [0.0] * len(times)
    if len(ages) != len(times):
        raise ValueError(f"entered must have as many values as hours, {len(times)}, not {len(ages)}.")
    for place, (age, time, is_over) in enumerate(zip(ages, times, over, strict=True)):
        if age > time or (is_over and age >= time):
            raise ValueError(f"entered[{place}] must be short of the hours of its life, {time:g}, not {age:g}.")
    return ages


def check_lives(hours: Iterable[object], ended: Iterable[object]) -> tuple[list[float], list[bool]]:
    """Hours (0 to 1e9) and flags, as many of one as of the other; ValueError otherwise.

    A life that ended must have run at least a millionth of an hour: one that broke before it began is no life.
    """
    times = numbers("hours", hours, most=100_000, at_least=0, at_most=MOST_HOURS)
    over = flags("ended", ended)
    if len(times) != len(over):
        raise ValueError(f"ended must have as many values as hours, {len(times)}, not {len(over)}.")
    for place, (time, is_over) in enumerate(zip(times, over, strict=True)):
        if is_over:
            number(f"hours[{place}]", time, at_least=1e-6)
    return times, over
