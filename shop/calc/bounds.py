"""The one place where the calculations look at what they are given."""

import math
from collections.abc import Iterable
from decimal import Decimal
from numbers import Real
from typing import TypeVar

T = TypeVar("T")


def _allowed(above: float | None, at_least: float | None, below: float | None, at_most: float | None) -> str:
    parts = [
        f"{word} {limit:.10g}"
        for word, limit in (("above", above), ("at least", at_least), ("below", below), ("at most", at_most))
        if limit is not None
    ]
    return " and ".join(parts) or "an ordinary number"


def number(
    name: str,
    value: object,
    *,
    above: float | None = None,
    at_least: float | None = None,
    below: float | None = None,
    at_most: float | None = None,
) -> float:
    """`value` as a finite float inside the limits given, else ValueError naming the argument and its range.

    Takes any real number (int, float, Decimal, NumPy's), but neither text nor True and False.
    """
    allowed = _allowed(above, at_least, below, at_most)
    if isinstance(value, bool) or not isinstance(value, Real | Decimal):
        raise ValueError(f"{name} must be a number, {allowed}, not {str(value)[:30]!r}.")
    try:
        found = float(value)
    except (OverflowError, ValueError):
        found = math.inf
    if not math.isfinite(found):
        raise ValueError(f"{name} must be a finite number, {allowed}.")
    if (
        (above is not None and found <= above)
        or (at_least is not None and found < at_least)
        or (below is not None and found >= below)
        or (at_most is not None and found > at_most)
    ):
        raise ValueError(f"{name} must be {allowed}, not {found:.10g}.")
    return found


def whole(name: str, value: object, *, at_least: int, at_most: int) -> int:
    """`value` as an int inside the limits, else ValueError. 3.0 is a whole number, 3.5 is not."""
    found = number(name, value, at_least=at_least, at_most=at_most)
    if found != int(found):
        raise ValueError(f"{name} must be a whole number, at least {at_least} and at most {at_most}, not {found:.10g}.")
    return int(found)


def numbers(
    name: str,
    values: Iterable[object],
    *,
    fewest: int = 0,
    most: int = 1_000_000,
    above: float | None = None,
    at_least: float | None = None,
    at_most: float | None = None,
) -> list[float]:
    """A list of finite floats, each inside the limits, `fewest` to `most` of them, else ValueError."""
    found = [
        number(f"{name}[{place}]", value, above=above, at_least=at_least, at_most=at_most)
        for place, value in enumerate(listed(name, values))
    ]
    if not fewest <= len(found) <= most:
        raise ValueError(f"{name} must have at least {fewest} and at most {most} values, not {len(found)}.")
    return found


def listed(name: str, values: Iterable[T]) -> list[T]:
    """The values in a list; ValueError for what is none: a number, nothing at all, text."""
    if isinstance(values, str | bytes) or not isinstance(values, Iterable):
        raise ValueError(f"{name} must be a list of values, not {str(values)[:30]!r}.")
    return list(values)


def flags(name: str, values: Iterable[object]) -> list[bool]:
    """A list of yes and no (True and False, NumPy's too, or 1 and 0), else ValueError."""
    found = []
    for place, value in enumerate(listed(name, values)):
        if value not in (True, False):
            raise ValueError(f"{name}[{place}] must be True or False, not {str(value)[:30]!r}.")
        found.append(bool(value))
    return found


def chance(name: str, value: object) -> float:
    """A level or probability strictly between 0 and 1, else ValueError."""
    return number(name, value, above=0.0, below=1.0)
