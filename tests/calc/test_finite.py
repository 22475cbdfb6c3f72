"""No calculation gives a number that is none: what is finite comes out finite, or is refused with a ValueError."""

import math
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from importlib import import_module
from inspect import Parameter, isfunction, signature
from pkgutil import walk_packages
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import shop.calc
from shop.calc.air import dilution_air_m3_h, ppm_from_mg_m3, vapour_m3
from shop.calc.demand import croston, sba, tsb
from shop.calc.drift import cusum_chart, ewma_chart, fit_line
from shop.calc.groove import arc_m
from shop.calc.life import fit_weibull, kaplan_meier
from shop.calc.units import from_stored, show, to_stored

#: Ordinary figures, and those near the ends of what a number can say.
FIGURES = st.sampled_from([
    -273.15, -1, 0, 5e-324, 1e-320, 1e-300, 1e-9, 0.001, 0.5, 1, 2, 12, 20, 56, 100, 293.15, 1000, 101_325, 1e6, 1e9,
    1e15, 1e100, 1e300, 1.7e308, -1e308,
])  # fmt: skip
#: Is only asked with figures that were looked at already, as it says.
TRUSTING = {arc_m}


def of_numbers_alone() -> Iterator[Callable[..., Any]]:
    """The public functions of shop.calc that need nothing but numbers."""
    seen = set(TRUSTING)
    for module in walk_packages(shop.calc.__path__, "shop.calc."):
        if module.name == "shop.calc.bounds":  # whose limits are whoever asks
            continue
        for name, function in vars(import_module(module.name)).items():
            if name.startswith("_") or not isfunction(function) or function in seen:
                continue
            if not function.__module__.startswith("shop.calc."):
                continue
            needed = [one for one in signature(function).parameters.values() if one.default is Parameter.empty]
            if needed and all(str(one.annotation) in NUMBERS for one in needed):
                seen.add(function)
                yield function


NUMBERS = {"<class 'float'>", "<class 'int'>", "float | None", "int | None"}
FUNCTIONS = sorted(of_numbers_alone(), key=lambda function: (function.__module__, function.__name__))


def is_finite(found: Any) -> bool:
    if isinstance(found, float):
        return math.isfinite(found)
    if is_dataclass(found):
        return all(is_finite(getattr(found, field.name)) for field in fields(found))
    return all(map(is_finite, found)) if isinstance(found, list | tuple) else True


def test_the_functions_are_found() -> None:
    names = {function.__name__ for function in FUNCTIONS}
    assert {"ppm_from_mg_m3", "hours_until_oxygen", "pitch_from_lines", "share_of_limit", "eoq", "wilson"} <= names
    assert len(FUNCTIONS) > 50


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_what_is_finite_comes_out_finite_or_is_refused(function: Callable[..., Any]) -> None:
    asked = {
        name: FIGURES if one.default is Parameter.empty else FIGURES | st.just(one.default)
        for name, one in signature(function).parameters.items()
        if str(one.annotation) in NUMBERS
    }

    @settings(max_examples=60)
    @given(st.fixed_dictionaries(asked))
    def look(figures: dict[str, float]) -> None:
        try:
            found = function(**figures)
        except ValueError:
            return
        assert is_finite(found), (figures, found)

    look()


@pytest.mark.parametrize("wrong", [None, 5, "12"])
@pytest.mark.parametrize(
    "ask",
    [
        lambda wrong: fit_line(wrong, [1, 2, 3]),
        lambda wrong: fit_line([1, 2, 3], wrong),
        lambda wrong: ewma_chart(wrong, 0, 1),
        lambda wrong: cusum_chart(wrong, 0, 1, 5),
        croston,
        sba,
        tsb,
        lambda wrong: fit_weibull(wrong, [True]),
        lambda wrong: fit_weibull([3.0, 4.0], wrong),
        lambda wrong: kaplan_meier([3.0], wrong),
    ],
)
def test_what_is_no_list_is_refused_with_a_sentence(ask: Callable[[Any], Any], wrong: Any) -> None:
    with pytest.raises(ValueError, match="must be a list of values"):
        ask(wrong)


@pytest.mark.parametrize("wrong", ["x", 2, None])
def test_whether_a_life_ended_is_yes_or_no(wrong: Any) -> None:
    for ask in (fit_weibull, kaplan_meier):
        with pytest.raises(ValueError, match=r"ended\[1\] must be True or False"):
            ask([3.0, 4.0, 5.0], [True, wrong, True])


@pytest.mark.parametrize(
    "ask",
    [lambda mass: ppm_from_mg_m3(1, mass), lambda mass: vapour_m3(1, mass), lambda mass: dilution_air_m3_h(1, mass, 1)],
)
def test_nothing_is_lighter_than_hydrogen(ask: Callable[[float], float]) -> None:
    with pytest.raises(ValueError, match="molar_mass_g_mol must be at least 1"):
        ask(1e-320)
    assert math.isfinite(ask(1.008))


def test_units_take_only_names_and_give_only_numbers() -> None:
    for ask in (to_stored, from_stored, show):
        with pytest.raises(ValueError, match="unit must be the name of a unit, not 'None'"):
            ask("pressure", 3.0, None)  # type: ignore[arg-type]
        with pytest.raises(ValueError, match="kind must be one of"):
            ask(["pressure"], 3.0, "bar")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="value must be a finite number"):
        from_stored("pressure", 1.7e308, "psi")
    with pytest.raises(ValueError, match="value must be a finite number"):
        to_stored("mass", 1.7e308, "kg")
