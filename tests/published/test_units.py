"""Units against their definitions."""

import pytest

from shop.calc.units import to_stored


@pytest.mark.parametrize(
    ("kind", "unit", "stored", "source"),
    [
        ("pressure", "psi", 0.06894757, "psi = 6894.757 Pa; pound and inch by the 1959 agreement, NIST SP 811 app. B"),
        ("liquid", "gal", 3785.411784, "US gallon = 231 in3, NIST SP 811 app. B"),
        ("liquid", "floz", 29.5735295625, "US fluid ounce = 1/128 gallon"),
        ("length", "in", 25.4, "inch, exact"),
        ("length", "ft", 304.8, "foot, exact"),
        ("length", "m", 1000, "exact"),
        ("length", "cm", 10, "exact"),
        ("groove_length", "ft", 0.3048, "foot, exact"),
        ("groove_length", "mi", 1609.344, "statute mile of 5280 ft, exact"),
        ("groove_speed", "in/s", 25.4, "inch, exact"),
        ("groove", "mil", 25.4, "a thousandth of an inch, exact"),
        ("suction", "mbar", 0.1, "exact"),
        ("suction", "inHg", 3.38639, "conventional inch of mercury, 3386.39 Pa, NIST SP 811 app. B.8"),
        ("suction", "inH2O", 0.2490889, "conventional inch of water, 249.0889 Pa, NIST SP 811 app. B.8"),
        ("suction", "bar", 100, "exact"),
        ("suction", "psi", 6.894757, "psi = 6894.757 Pa"),
        ("mass", "oz", 28.349523125, "avoirdupois, exact"),
        ("mass", "lb", 453.59237, "avoirdupois pound, exact"),
        ("volume", "ft3", 0.028316846592, "cubic foot, (0.3048 m)3, exact"),
        ("air_flow", "cfm", 1.69901079552, "60 cubic feet an hour"),
        ("gas_flow", "ft3/h", 0.4719474432, "a cubic foot an hour"),
        ("temperature_change", "degF", 1 / 1.8, "exact"),
    ],
)
def test_one_of_each(kind: str, unit: str, stored: float, source: str) -> None:
    """From memory where a NIST page is named: its figures are in general use and agree with pint."""
    assert to_stored(kind, 1, unit) == pytest.approx(stored, rel=2e-7 if kind == "pressure" else 5e-7)


@pytest.mark.parametrize(("gallons", "litres"), [(25, 94.64), (60, 227.12), (120, 454.25), (660, 2498.4)])
def test_gallons_of_the_storage_rules(gallons: float, litres: float) -> None:
    """S-11; computed."""
    assert to_stored("liquid", gallons, "gal") / 1000 == pytest.approx(litres, abs=0.051)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [(70, 21.1111), (125, 51.667), (32, 0), (212, 100), (300, 148.89), (106, 41.11), (65, 18.33)],
)
def test_temperatures_that_the_trade_quotes(fahrenheit: float, celsius: float) -> None:
    """70 F = 21.1111 C; 125 F, cylinders' limit (from memory); 65 to 70 F, Library of Congress; L-4, L-6."""
    assert to_stored("temperature", fahrenheit, "degF") == pytest.approx(celsius, abs=5.01e-3)


def test_differences_are_not_temperatures() -> None:
    """A change of 10 F is one of 5.6 C."""
    assert to_stored("temperature_change", 10, "degF") == pytest.approx(5.6, abs=0.05)
