"""Humidity and solvent vapour: plain reasoning, refusals, and what always holds."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.air import (
    SOLVENTS,
    absolute_humidity_g_m3,
    dew_point_c,
    dilution_air_m3_h,
    fire_dilution_air_m3_h,
    gas_percent_in_room,
    grams_at_fraction_of_lel,
    grams_to_fraction_of_lel,
    mean_concentration,
    mg_m3_from_ppm,
    molar_volume_l,
    ppm_from_mg_m3,
    purge_air_changes,
    purge_hours,
    relative_humidity_percent,
    room_concentration,
    saturated_percent,
    saturation_vapour_pressure_pa,
    spill,
    vapour_pressure_pa,
    wipes,
)


def test_saturated_air_is_at_its_dew_point() -> None:
    assert dew_point_c(21.3, 100) == 21.3
    assert dew_point_c(-45, 100) == -45


def test_dry_air_has_no_dew_point() -> None:
    with pytest.raises(ValueError, match=r"rh_percent must be at least 0.47.* and at most 100, not 0"):
        dew_point_c(20, 0)
    with pytest.raises(ValueError, match="rh_percent"):
        dew_point_c(20, 0.4)  # its dew point would lie below where the formula ends
    assert absolute_humidity_g_m3(20, 0) == 0


def test_humidity_again_from_the_dew_point() -> None:
    assert relative_humidity_percent(22, dew_point_c(22, 47)) == pytest.approx(47)
    with pytest.raises(ValueError, match="dew_point must be"):
        relative_humidity_percent(20, 21)


def test_vapour_pressure_uses_the_set_whose_range_holds_the_temperature() -> None:
    assert vapour_pressure_pa("propan-2-ol", 100.3) == pytest.approx(2.0e5, rel=0.03)
    assert vapour_pressure_pa("acetone", -20) == pytest.approx(
        SOLVENTS["acetone"].antoine[1].pressure_pa(-20)
    )  # only the second set reaches so low


@pytest.mark.parametrize(
    ("substance", "celsius", "source"),
    [
        ("acetone", -40, ""),
        ("acetone", 100, "Poling"),
        ("propan-2-ol", 5, ""),
        ("propan-2-ol", 20, "NIST"),
        ("propan-2-ol", 110, ""),  # between two sets
    ],
)
def test_a_set_outside_its_range_is_refused(substance: str, celsius: float, source: str) -> None:
    with pytest.raises(ValueError, match=r"^celsius must be"):
        vapour_pressure_pa(substance, celsius, source=source)


def test_what_is_not_kept_is_refused() -> None:
    with pytest.raises(ValueError, match="substance must be one of acetone, propan-2-ol, not 'water'"):
        vapour_pressure_pa("water", 20)
    with pytest.raises(ValueError, match="source must begin one of: NIST"):
        vapour_pressure_pa("acetone", 20, source="Hearsay")


def test_all_of_the_air_is_the_most() -> None:
    assert saturated_percent("acetone", 60) == 100


def test_ppm_and_mg_are_each_others_inverse() -> None:
    assert ppm_from_mg_m3(mg_m3_from_ppm(250, 58.079), 58.079) == pytest.approx(250)
    assert ppm_from_mg_m3(100, 58.079, celsius=0) < ppm_from_mg_m3(100, 58.079)
    assert molar_volume_l(0) == pytest.approx(22.414, abs=1e-3)


def test_grams_and_the_fraction_of_the_limit() -> None:
    grams = grams_at_fraction_of_lel(0.1, 50, 58.079, 2.5)
    assert grams_to_fraction_of_lel(grams, 50, 58.079, 2.5) == pytest.approx(0.1)
    assert grams_to_fraction_of_lel(2 * grams, 100, 58.079, 2.5) == pytest.approx(0.1)


def test_a_room_without_fresh_air_only_fills() -> None:
    assert room_concentration(100, 0, 50, 2) == pytest.approx(4)
    assert room_concentration(100, 1e-9, 50, 2) == pytest.approx(4)
    assert room_concentration(0, 0, 50, 2, start_g_m3=3) == 3
    with pytest.raises(ValueError, match=r"air_m3_h must be at least 0.001"):
        room_concentration(100, 0, 50)


def test_a_room_left_alone_clears() -> None:
    assert room_concentration(0, 50, 50, 1, start_g_m3=1) == pytest.approx(math.exp(-1))
    assert room_concentration(100, 50, 50, 1e6) == pytest.approx(room_concentration(100, 50, 50)) == pytest.approx(2)


def test_poor_mixing_is_as_much_less_air() -> None:
    assert room_concentration(100, 60, 50, 0.5, mixing=0.5) == room_concentration(100, 30, 50, 0.5)
    assert purge_air_changes(20, 1, 0.5) == pytest.approx(2 * purge_air_changes(20, 1))


def test_purging() -> None:
    hours = purge_hours(5, 1, 50, 100)
    assert room_concentration(0, 100, 50, hours, start_g_m3=5) == pytest.approx(1)
    assert purge_air_changes(1, 5) == 0


def test_a_gas_that_leaks_in() -> None:
    assert gas_percent_in_room(0, 0, 50) == 0
    assert gas_percent_in_room(5, 0, 50) == 100
    assert gas_percent_in_room(5, 95, 50) == pytest.approx(5)
    assert gas_percent_in_room(5, 95, 50, 0) == 0


def test_dilution_air_keeps_the_average_at_the_limit() -> None:
    air = dilution_air_m3_h(100, 58.079, 250, celsius=25)
    assert ppm_from_mg_m3(room_concentration(100, air, 50) * 1000, 58.079) == pytest.approx(250)
    assert dilution_air_m3_h(100, 58.079, 250, allowance=4, celsius=25) == pytest.approx(4 * air)
    fire = fire_dilution_air_m3_h(100, 58.079, 2.5, celsius=25)
    assert fire == pytest.approx(dilution_air_m3_h(100, 58.079, 25_000 / 4, celsius=25))
    assert fire < air


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: dew_point_c(70, 50), "celsius"),  # F given for C
        (lambda: dew_point_c(20, 101), "rh_percent"),
        (lambda: dew_point_c(20, math.nan), "rh_percent"),
        (lambda: absolute_humidity_g_m3(20, -1), "rh_percent"),
        (lambda: saturation_vapour_pressure_pa(-46), "celsius"),
        (lambda: ppm_from_mg_m3(-1, 58), "mg_m3"),
        (lambda: ppm_from_mg_m3(1, 0), "molar_mass_g_mol"),
        (lambda: mg_m3_from_ppm(1e7, 58), "ppm"),
        (lambda: grams_to_fraction_of_lel(10, 0, 58, 2.5), "room_m3"),
        (lambda: grams_to_fraction_of_lel(10, 50, 58, 0), "lel_percent"),
        (lambda: room_concentration(-1, 60, 50, 1), "grams_per_hour"),
        (lambda: room_concentration(1, 60, 50, -1), "hours"),
        (lambda: room_concentration(1, 60, 50, 1, mixing=2), "mixing"),
        (lambda: purge_air_changes(0, 1), "start"),
        (lambda: purge_hours(2, 1, 50, 0), "air_m3_h"),
        (lambda: dilution_air_m3_h(10, 58, 0), "limit_ppm"),
        (lambda: dilution_air_m3_h(10, 58, 250, allowance=0.5), "allowance"),
        (lambda: fire_dilution_air_m3_h(10, 58, 2.5, heat_factor=0), "heat_factor"),
        (lambda: gas_percent_in_room(-1, 0, 50), "gas_m3_h"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], float], name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} must be"):
        ask()


@given(celsius=st.floats(-45, 60), humidity=st.floats(0, 100))
def test_dew_point_is_finite_and_never_above_the_air(celsius: float, humidity: float) -> None:
    assert 0 <= absolute_humidity_g_m3(celsius, humidity) < 200
    try:
        found = dew_point_c(celsius, humidity)
    except ValueError:
        assert humidity < 100 * saturation_vapour_pressure_pa(-45) / saturation_vapour_pressure_pa(celsius)
    else:
        assert -45 - 1e-9 <= found <= celsius + 1e-9


@given(
    grams=st.floats(0, 1e9),
    air=st.floats(0, 1e6),
    room=st.floats(0.001, 1e6),
    hours=st.floats(0, 1e6),
    mixing=st.floats(0.001, 1),
    start=st.floats(0, 1e6),
)
def test_the_box_never_holds_more_than_went_in(
    grams: float, air: float, room: float, hours: float, mixing: float, start: float
) -> None:
    found = room_concentration(grams, air, room, hours, mixing=mixing, start_g_m3=start)
    assert math.isfinite(found)
    assert 0 <= found <= (grams * hours / room + start) * (1 + 1e-9)


@given(substance=st.sampled_from(list(SOLVENTS)), celsius=st.floats(-60, 250))
def test_vapour_pressure_is_refused_or_sensible(substance: str, celsius: float) -> None:
    kelvin = celsius + 273.15
    if any(each.low_k <= kelvin <= each.high_k for each in SOLVENTS[substance].antoine):
        assert 0 < vapour_pressure_pa(substance, celsius) < 1e7
    else:
        with pytest.raises(ValueError, match=r"^celsius must be"):
            vapour_pressure_pa(substance, celsius)


@given(
    grams=st.floats(0, 1e9),
    air=st.floats(0, 1e6),
    room=st.floats(0.001, 1e6),
    hours=st.floats(1e-6, 1e6),
    mixing=st.floats(0.001, 1),
)
def test_a_mean_lies_between_nothing_and_the_end(
    grams: float, air: float, room: float, hours: float, mixing: float
) -> None:
    """From clean air it only rises, so that its mean is at most what stands at the end, and at least half of it."""
    mean = mean_concentration(grams, air, room, hours, mixing=mixing)
    end = room_concentration(grams, air, room, hours, mixing=mixing)
    assert math.isfinite(mean)
    assert end / 2 * (1 - 1e-6) <= mean <= end * (1 + 1e-6)


def test_a_spill_twice_as_large_or_in_half_the_room_is_twice_the_vapour() -> None:
    acetone = SOLVENTS["acetone"]
    one = spill(100, 50, acetone)
    assert one.grams == pytest.approx(79)
    for double in (spill(200, 50, acetone), spill(100, 25, acetone)):
        assert (double.ppm, double.mg_m3, double.of_lel) == pytest.approx((2 * one.ppm, 2 * one.mg_m3, 2 * one.of_lel))
    assert (spill(0, 50, acetone).ppm, spill(0, 50, acetone).is_all) == (0, True)


def test_no_more_evaporates_than_the_air_takes_up() -> None:
    """A litre in a cupboard of a tenth of a cubic metre: at 20 C the vapour over the liquid is 24.3 % by volume."""
    acetone = SOLVENTS["acetone"]
    full = vapour_pressure_pa("acetone", 20)
    found = spill(1000, 0.1, acetone, 20, full_pa=full)
    assert not found.is_all
    assert found.percent == pytest.approx(saturated_percent("acetone", 20))
    assert found.grams < 790
    assert found.of_lel == pytest.approx(found.percent / acetone.lel_percent)


def test_wipes_without_a_fan_add_up() -> None:
    """Eight times 5 ml shut in 50 m3: half of it on average over the shift, and a whole one more at the peak."""
    acetone = SOLVENTS["acetone"]
    found, each = wipes(5, 8, 50, 0, acetone), spill(5, 50, acetone).ppm
    assert found.shift_ppm == pytest.approx(4 * each)
    assert found.peak_ppm == pytest.approx(5 * each)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: spill(-1, 50, SOLVENTS["acetone"]), "ml"),
        (lambda: spill(1, 0, SOLVENTS["acetone"]), "room_m3"),
        (lambda: spill(1, 50, SOLVENTS["acetone"], full_pa=0), "full_pa"),
        (lambda: wipes(5, 0, 50, 10, SOLVENTS["acetone"]), "a_shift"),
        (lambda: wipes(5, 8, 50, -1, SOLVENTS["acetone"]), "air_m3_h"),
        (lambda: wipes(5, 8, 50, 10, SOLVENTS["acetone"], minutes=0), "minutes"),
        (lambda: wipes(5, 8, 50, 10, SOLVENTS["acetone"], mixing=1.1), "mixing"),
        (lambda: mean_concentration(1, 10, 50, 0), "hours"),
    ],
)
def test_what_makes_no_sense_of_spills_and_wipes_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} must be"):
        ask()
