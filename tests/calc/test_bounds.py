"""The look that every calculation takes at what it is given."""

import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from shop.calc.bounds import chance, flags, number, numbers, whole


@pytest.mark.parametrize("given", [3, 3.0, Decimal("3"), Fraction(3), np.float64(3), np.int64(3)])
def test_any_real_number_will_do(given: object) -> None:
    found = number("x", given)
    assert found == 3.0
    assert type(found) is float


@pytest.mark.parametrize("given", ["3", None, True, 3j, [3], math.nan, math.inf, -math.inf, 10**400, Decimal("NaN")])
def test_what_is_no_number_is_refused_by_name(given: object) -> None:
    with pytest.raises(ValueError, match=r"^x must be"):
        number("x", given)


@pytest.mark.parametrize(
    ("limits", "given", "sentence"),
    [
        ({"above": 0}, 0, "x must be above 0, not 0."),
        ({"above": 0, "at_most": 200}, 201, "x must be above 0 and at most 200, not 201."),
        ({"at_least": 1, "below": 2}, 2, "x must be at least 1 and below 2, not 2."),
        ({"at_least": 1}, 0.5, "x must be at least 1, not 0.5."),
    ],
)
def test_the_sentence_names_the_range(limits: dict[str, float], given: float, sentence: str) -> None:
    with pytest.raises(ValueError, match=r"^x must") as refused:
        number("x", given, **limits)
    assert str(refused.value) == sentence


def test_limits_that_are_allowed_are_allowed() -> None:
    assert number("x", 0, at_least=0, at_most=0) == 0.0


def test_whole_takes_no_part_of_one() -> None:
    assert whole("n", 3.0, at_least=0, at_most=5) == 3
    with pytest.raises(ValueError, match=r"n must be a whole number, at least 0 and at most 5, not 2.5"):
        whole("n", 2.5, at_least=0, at_most=5)


def test_a_list_names_the_value_that_is_wrong_and_its_own_length() -> None:
    assert numbers("hours", (1, 2.5), above=0) == [1.0, 2.5]
    with pytest.raises(ValueError, match=r"hours\[1\] must be above 0, not -1"):
        numbers("hours", [3, -1], above=0)
    with pytest.raises(ValueError, match="hours must have at least 2"):
        numbers("hours", [3], fewest=2)


@pytest.mark.parametrize("given", [None, 5, 2.5, "12", b"12", True])
def test_what_is_no_list_is_refused_by_name(given: object) -> None:
    with pytest.raises(ValueError, match=r"^hours must be a list of values, not "):
        numbers("hours", given)  # type: ignore[arg-type]


def test_flags_are_yes_or_no_and_nothing_like_it() -> None:
    assert flags("ended", (True, False, 1, 0, np.True_, np.False_)) == [True, False, True, False, True, False]
    for wrong in ("x", "", 2, None, 0.5, [True]):
        with pytest.raises(ValueError, match=r"^ended\[1\] must be True or False, not "):
            flags("ended", [True, wrong])


@pytest.mark.parametrize("given", [0, 1, -0.1, 1.1])
def test_a_chance_lies_between(given: float) -> None:
    with pytest.raises(ValueError, match="level must be above 0 and below 1"):
        chance("level", given)
