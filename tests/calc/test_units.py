"""Numbers as people type them, and the shop's units."""

import math
import re
import subprocess
import sys
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.units import (
    STORED,
    UNITS,
    Ambiguous,
    default_unit,
    from_stored,
    label,
    lines_from_pitch_um,
    parse_number,
    pitch_um_from_lines,
    show,
    show_number,
    to_stored,
    unit_of,
)

EVERY_UNIT = [(kind, key) for kind, units in UNITS.items() for key in units]


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("21.5", 21.5, ""),
        ("21,5", 21.5, ""),
        (" 21.5 ", 21.5, ""),
        ("2200 psi", 2200, "psi"),
        ("2200psi", 2200, "psi"),
        ("2 200 psi", 2200, "psi"),
        ("2\u202f200\u00a0psi", 2200, "psi"),
        ("2\u2009200", 2200, ""),
        ("1 234 567,8", 1234567.8, ""),
        ("70 F", 70, "F"),
        ("21 °C", 21, "°C"),
        ("45%", 45, "%"),
        ("45 % RH", 45, "% RH"),
        ('14"', 14, '"'),
        ("56 µm", 56, "µm"),
        ("8 inH2O", 8, "inH2O"),
        ("2000 lb/in2", 2000, "lb/in2"),
        ("200 /in", 200, "/in"),
        ("3 US fl oz", 3, "US fl oz"),
        ("-5", -5, ""),
        ("- 5", -5, ""),
        ("\u22125", -5, ""),
        ("+5", 5, ""),
        (".5", 0.5, ""),
        (",5", 0.5, ""),
        ("5.", 5, ""),
        ("0,125", 0.125, ""),
        ("1,23", 1.23, ""),
        ("1,2345", 1.2345, ""),
        ("1234,567", 1234.567, ""),
        ("1.234", 1.234, ""),
        ("007", 7, ""),
    ],
)
def test_numbers_as_people_type_them(text: str, number: float, unit: str) -> None:
    assert parse_number(text) == (number, unit)


def test_nothing_has_no_sign() -> None:
    number, _ = parse_number("-0")
    assert math.copysign(1, number) == 1


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("1,234", "Is “1,234” 1234, or 1.234? Write it that way."),
        ("21,500 psi", "Is “21,500” 21500, or 21.500? Write it that way."),
        ("1.234,5", "“1.234,5” has more than one mark. Write it with one decimal mark, such as 1234.5."),
        ("1,234.5", "“1,234.5” has more than one mark. Write it with one decimal mark, such as 1234.5."),
        ("1,234,567", "“1,234,567” has more than one mark. Write it with one decimal mark, such as 1234.5."),
        ("1.2.3", "“1.2.3” has more than one mark. Write it with one decimal mark, such as 1234.5."),
    ],
)
def test_what_can_be_read_two_ways_is_asked_about(text: str, sentence: str) -> None:
    with pytest.raises(Ambiguous) as asked:
        parse_number(text)
    assert str(asked.value) == sentence


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("1.460", "Is “1.460” 1460, or 1.46? Write it that way."),
        ("1.463", "Is “1.463” 1463, or 1.46? Write it that way."),
        ("-2.000 psi", "Is “2.000” 2000, or 2? Write it that way."),
        ("120.454", "Is “120.454” 120454, or 120.45? Write it that way."),
    ],
)
def test_a_point_that_may_part_thousands_is_asked_about_where_thousandths_mean_nothing(
    text: str, sentence: str
) -> None:
    with pytest.raises(Ambiguous) as asked:
        parse_number(text, lambda unit: 0)
    assert str(asked.value) == sentence


@pytest.mark.parametrize(
    ("text", "decimals"), [("14.125", 3), ("1.46", 0), ("0.460", 0), ("1460.000", 0), ("1.4601", 0)]
)
def test_a_point_that_parts_no_thousands_is_not_asked_about(text: str, decimals: int) -> None:
    assert parse_number(text, lambda unit: decimals) == (float(text), "")


@pytest.mark.parametrize(
    "text",
    [
        "", "  ", "abc", "12a4", "1e5", "0x10", "nan", "inf", "-inf", "∞", "1_000", "21 5", "2 2 00", "12 34", "5-",
        "--5", "5 1/2", "½", "10²", "٢١", "１２", "<b>5", "5<b>", "5<script>", "'5", "=5", "5;", "5\x00", ".", ",", "-",
        "psi", "1'234", "5 (about)", "1e400", "9" * 30, "9" * 300, "1,,2", "1 .5",
    ],
)  # fmt: skip
def test_what_is_no_number_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match=r"\.$") as refused:
        parse_number(text)
    assert not isinstance(refused.value, Ambiguous)
    assert str(refused.value)[0] in "GT“"
    assert len(str(refused.value)) < 120


@pytest.mark.parametrize(
    ("kind", "typed", "unit", "stored"),
    [
        ("pressure", 2200, "psi", 151.6847),
        ("pressure", 2200, "PSIG", 151.6847),
        ("pressure", 150, "bar", 150),
        ("temperature", 70, "degF", 21.1111),
        ("temperature", 70, "°F", 21.1111),
        ("temperature", -40, "f", -40),
        ("temperature_change", 10, "degF", 5.5556),
        ("liquid", 1, "l", 1000),
        ("liquid", 1, "gal", 3785.4118),
        ("liquid", 1, "US fl oz", 29.5735),
        ("length", 14, "in", 355.6),
        ("length", 14, '"', 355.6),
        ("groove", 2.2, "mil", 55.88),
        ("pitch", 200, "lpi", 127),
        ("pitch", 127, "um", 127),
        ("suction", 8, "inHg", 27.0911),
        ("suction", 80, "mbar", 8),
        ("suction", 20, "inH2O", 4.9818),
        ("current", 0.5, "A", 500),
        ("humidity", 45, "%", 45),
        ("mass", 1, "oz", 28.3495),
        ("mass", 1, "kg", 1000),
        ("mass", 1, "lbs", 453.5924),
        ("volume", 1000, "ft³", 28.3168),
        ("volume", 45, "m3", 45),
        ("air_flow", 100, "cfm", 169.9011),
        ("gas_flow", 10, "cfh", 4.7195),
        ("gas_flow", 6, "m³/h", 100),
    ],
)
def test_to_stored_units(kind: str, typed: float, unit: str, stored: float) -> None:
    assert to_stored(kind, typed, unit) == pytest.approx(stored, abs=5.01e-5)
    assert from_stored(kind, stored, unit) == pytest.approx(typed, rel=2e-5)


@pytest.mark.parametrize(
    ("kind", "stored", "unit", "alone", "with_unit"),
    [
        ("pressure", 151.6847, "psi", "2200", "2200\u00a0psi"),
        ("pressure", 689.476, "psi", "10000", "10\u202f000\u00a0psi"),
        ("temperature", 21.1111, "degF", "70.0", "70.0\u00a0°F"),
        ("temperature", -5.04, "degC", "-5.0", "\u22125.0\u00a0°C"),
        ("temperature", -0.04, "degC", "0.0", "0.0\u00a0°C"),
        ("humidity", 45.4, "percent", "45", "45\u00a0%"),
        ("length", 358.775, "in", "14.125", "14.125\u00a0in"),
        ("length", 6000, "in", "236.220", "236.2\u00a0in"),
        ("pitch", 127, "lpi", "200", "200\u00a0lines/in"),
        ("suction", 4.9818, "inH2O", "20.0", "20.0\u00a0inH₂O"),
        ("liquid", 500, "l", "0.50", "0.50\u00a0l"),
    ],
)
def test_showing(kind: str, stored: float, unit: str, alone: str, with_unit: str) -> None:
    assert show_number(kind, stored, unit) == alone
    assert show(kind, stored, unit) == with_unit


def test_ten_degrees_of_change_are_no_temperature() -> None:
    assert to_stored("temperature_change", 10, "degF") == pytest.approx(5.5556, abs=5e-5)
    assert to_stored("temperature", 10, "degF") == pytest.approx(-12.2222, abs=5e-5)


@pytest.mark.parametrize(("kind", "key"), EVERY_UNIT)
def test_every_unit_can_be_typed_as_it_is_written(kind: str, key: str) -> None:
    written = label(kind, key)
    for spelled in (key, written, *unit_of(kind, key).spellings):
        assert unit_of(kind, spelled) is UNITS[kind][key]
        assert parse_number(f"5 {spelled}") == (5, spelled)
        assert parse_number(f"5{spelled}") == (5, spelled)
    assert to_stored(kind, 5, key) == pytest.approx(to_stored(kind, 5, written))


@pytest.mark.parametrize("kind", list(UNITS))
def test_no_spelling_means_two_units_of_a_kind(kind: str) -> None:
    spellings = [
        spelled
        for key, unit in UNITS[kind].items()
        for spelled in {key.casefold(), unit.label.casefold(), *(each.casefold() for each in unit.spellings)}
    ]
    assert len(spellings) == len(set(spellings))
    assert default_unit(kind) == STORED[kind]
    assert to_stored(kind, 7.25, STORED[kind]) == 7.25


@pytest.mark.parametrize(
    ("ask", "sentence"),
    [
        (lambda: to_stored("pressure", 5, "F"), "“F” is not a unit for this. Use bar, psi."),
        (lambda: to_stored("hope", 5, "bar"), "kind must be one of pressure, temperature"),
        (lambda: to_stored("pressure", math.nan, "bar"), "value must be a finite number"),
        (lambda: from_stored("pressure", math.inf, "psi"), "value must be a finite number"),
        (lambda: to_stored("temperature", -500, "degF"), "Nothing is colder than −459.67\u00a0°F."),
        (lambda: to_stored("temperature", -300, "degC"), "Nothing is colder than −273.15\u00a0°C."),
        (lambda: to_stored("pitch", 0, "lpi"), "Give a number of lines per inch above 0."),
        (lambda: from_stored("pitch", 0, "lpi"), "pitch_um must be at least 1e-06"),
        (lambda: pitch_um_from_lines(-1), "lines_per_inch must be at least"),
        (lambda: lines_from_pitch_um(math.nan), "pitch_um must be a finite number"),
        (lambda: label("pressure", "furlong"), "“furlong” is not a unit for this. Use bar, psi."),
    ],
)
def test_what_makes_no_sense_is_refused(ask: Callable[[], object], sentence: str) -> None:
    with pytest.raises(ValueError, match=re.escape(sentence)):
        ask()


def test_loading_waits_for_the_first_conversion() -> None:
    code = (
        "import sys; from shop.calc import units; units.parse_number('5 bar'); units.show('pressure', 5, 'bar'); "
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@given(st.text(max_size=60))
def test_any_text_is_a_number_or_refused(text: str) -> None:
    try:
        number, unit = parse_number(text)
    except ValueError:
        return
    assert math.isfinite(number)
    assert not re.search(r"[<>&;=]", unit)


@given(number=st.floats(-1e6, 1e6), decimals=st.integers(0, 6))
def test_a_number_written_out_is_read_back(number: float, decimals: int) -> None:
    written = f"{number:.{decimals}f}"
    if not re.fullmatch(r"-?[1-9][0-9]{0,2}\.[0-9]{3}", written):  # with a comma that one is asked about
        assert parse_number(written.replace(".", ",") + " bar") == (float(written), "bar")
    assert parse_number(written) == (float(written), "")


@given(unit=st.sampled_from(EVERY_UNIT), value=st.floats(0.01, 1e6))
def test_there_and_back(unit: tuple[str, str], value: float) -> None:
    kind, key = unit
    assert from_stored(kind, to_stored(kind, value, key), key) == pytest.approx(value, rel=1e-9)
