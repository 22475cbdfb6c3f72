"""Cylinders, leaks and oxygen: plain reasoning, refusals, and what always holds."""

import math
import subprocess
import sys
import threading
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.calc import gas
from shop.calc.gas import (
    MIXINGS,
    Mixing,
    contents_fraction,
    gauge_bar_at,
    hours_of_gas,
    hours_until_oxygen,
    hours_until_oxygen_extracted,
    largest_release_m3_h,
    largest_release_supplied_m3_h,
    leak_rate,
    nitrogen_mass_kg,
    oxygen_after_release,
    oxygen_extracted,
    oxygen_supplied,
    smallest_room_m3,
    standard_volume_m3,
)


def test_loading_waits_for_the_first_call() -> None:
    code = "import sys, shop.calc.gas; sys.exit('CoolProp' in sys.modules or 'numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
    gas.load()
    assert "CoolProp" in sys.modules


def test_mass_and_gauge_are_each_others_inverse() -> None:
    mass = nitrogen_mass_kg(50, 150, 18)
    assert gauge_bar_at(mass, 50, 18) == pytest.approx(150, rel=1e-9)
    assert gauge_bar_at(mass, 50, 28) > 155


def test_an_empty_cylinder_is_full_of_nitrogen_at_the_airs_pressure() -> None:
    mass = nitrogen_mass_kg(50, 0, 20)
    assert standard_volume_m3(mass, 20, 1.01325) == pytest.approx(0.050, rel=1e-12)
    assert gauge_bar_at(mass, 50, 0) < 0


def test_mass_goes_with_the_water_volume() -> None:
    assert nitrogen_mass_kg(100, 200, 15) == pytest.approx(2 * nitrogen_mass_kg(50, 200, 15))


def test_share_of_a_full_cylinder() -> None:
    assert contents_fraction(200, 200, 15) == 1
    assert contents_fraction(210, 200, 25, full_celsius=15) == pytest.approx(1, abs=2e-3)
    assert contents_fraction(100, 200, 20) > 0.5


def test_hours_of_a_steady_draw() -> None:
    all_of_it = hours_of_gas(50, 150, 20, 2)
    assert hours_of_gas(50, 150, 20, 4) == pytest.approx(all_of_it / 2)
    assert hours_of_gas(50, 150, 20, 2, leave_gauge_bar=10) < all_of_it
    assert hours_of_gas(50, 5, 20, 2, leave_gauge_bar=10) == 0


def test_a_drop_that_is_only_the_cold_is_no_leak() -> None:
    warm = 150.0
    cold = gauge_bar_at(nitrogen_mass_kg(50, warm, 24), 50, 16)
    leak = leak_rate(50, warm, 24, cold, 16, 12)
    assert leak.kg_per_hour == pytest.approx(0, abs=1e-9)
    assert not leak.sure
    assert leak.low_kg_per_hour < 0 < leak.high_kg_per_hour


def test_a_drop_beyond_what_the_gauge_can_blur_is_one() -> None:
    leak = leak_rate(50, 150, 20, 130, 20, 10)
    assert leak.sure
    assert leak.kg == pytest.approx(nitrogen_mass_kg(50, 150, 20) - nitrogen_mass_kg(50, 130, 20))
    assert leak.litres_per_hour == pytest.approx(standard_volume_m3(leak.kg_per_hour, 20, 1.01325) * 1000)
    wide = leak_rate(50, 150, 20, 130, 20, 10, level=0.99)
    assert wide.low_kg_per_hour < leak.low_kg_per_hour < leak.kg_per_hour < leak.high_kg_per_hour


def test_the_leaks_interval_is_the_spread_of_readings_drawn_at_random() -> None:
    import numpy as np

    rng = np.random.default_rng(5)
    losses = [
        nitrogen_mass_kg(50, 150 + rng.normal(0, 1), 20 + rng.normal(0, 1))
        - nitrogen_mass_kg(50, 147 + rng.normal(0, 1), 18 + rng.normal(0, 1))
        for _ in range(4000)
    ]
    leak = leak_rate(50, 150, 20, 147, 18, 1)
    assert (leak.high_kg_per_hour - leak.low_kg_per_hour) / 2 / 1.95996 == pytest.approx(np.std(losses), rel=0.05)


def test_with_perfect_readings_there_is_no_interval() -> None:
    leak = leak_rate(50, 150, 20, 149, 20, 1, gauge_sd_bar=0, celsius_sd=0)
    assert leak.low_kg_per_hour == leak.high_kg_per_hour == leak.kg_per_hour
    assert leak.sure


def test_threads_do_not_mix_their_cylinders() -> None:
    right = {bar: nitrogen_mass_kg(50, bar, 20) for bar in (10, 100, 200, 300)}
    wrong: list[float] = []

    def ask(bar: float) -> None:
        wrong.extend(bar for _ in range(3000) if nitrogen_mass_kg(50, bar, 20) != right[bar])

    threads = [threading.Thread(target=ask, args=(bar,)) for bar in right]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []


def test_the_displaced_model_stops_at_none() -> None:
    assert oxygen_after_release(20, 30, "displaced") == 0
    assert 0 < oxygen_after_release(20, 30, "mixed_escaping") < oxygen_after_release(20, 30, "added_then_mixed")


@pytest.mark.parametrize("model", MIXINGS)
def test_the_smallest_room_keeps_just_what_it_should(model: Mixing) -> None:
    room = smallest_room_m3(9, 19.5, model)
    assert oxygen_after_release(room, 9, model) == pytest.approx(19.5)


def test_a_fan_that_draws_keeps_more_the_more_it_draws() -> None:
    assert oxygen_extracted(50, 6, 100, 0) == 20.9
    assert oxygen_extracted(50, 6, 100, 1000) == pytest.approx(oxygen_extracted(50, 6, 100))
    assert oxygen_extracted(50, 6, 200) > oxygen_extracted(50, 6, 100)
    with pytest.raises(ValueError, match="extract_m3_h must be above 6"):
        oxygen_extracted(50, 6, 6)


def test_without_a_fan_supplying_is_the_mixed_release() -> None:
    assert oxygen_supplied(50, 6, 0, 1) == pytest.approx(oxygen_after_release(50, 6, "mixed_escaping"))
    assert oxygen_supplied(50, 6, 0) == 0
    assert oxygen_supplied(50, 0, 0) == 20.9


def test_the_largest_release_keeps_just_what_it_should() -> None:
    assert oxygen_extracted(50, largest_release_m3_h(100, 19.5), 100) == pytest.approx(19.5)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: nitrogen_mass_kg(0, 200, 20), "water_volume_l"),
        (lambda: nitrogen_mass_kg(50, -1, 20), "gauge_bar"),
        (lambda: nitrogen_mass_kg(50, 2200, 20), "gauge_bar"),  # psi given for bar
        (lambda: nitrogen_mass_kg(50, 200, -150), "celsius"),
        (lambda: nitrogen_mass_kg(50, 200, 72), "celsius"),  # F given for C
        (lambda: nitrogen_mass_kg(50, math.nan, 20), "gauge_bar"),
        (lambda: standard_volume_m3(-1), "mass_kg"),
        (lambda: standard_volume_m3(1, 15, 0), "bar"),
        (lambda: gauge_bar_at(0, 50, 20), "mass_kg"),
        (lambda: gauge_bar_at(50, 50, 20), "mass_kg"),
        (lambda: contents_fraction(100, 0, 20), "full_gauge_bar"),
        (lambda: contents_fraction(100, 200, 20, 100), "full_celsius"),
        (lambda: hours_of_gas(50, 150, 20, 0), "litres_per_minute"),
        (lambda: leak_rate(50, 150, 20, 149, 20, 0), "hours"),
        (lambda: leak_rate(50, 150, 20, -1, 20, 1), "second_gauge_bar"),
        (lambda: oxygen_after_release(0, 9, "displaced"), "room_m3"),
        (lambda: oxygen_after_release(50, -9, "displaced"), "released_m3"),
        (lambda: oxygen_after_release(50, 9, "hoped"), "model"),  # type: ignore[arg-type]
        (lambda: smallest_room_m3(9, 20.9, "displaced"), "keep_percent"),
        (lambda: oxygen_supplied(50, 6, -1), "supply_m3_h"),
        (lambda: oxygen_extracted(50, 6, 100, -1), "hours"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], float], name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} must be"):
        ask()


bars, degrees = st.floats(0, 400), st.floats(-50, 65)


@given(litres=st.floats(1e-3, 5000), bar=bars, celsius=degrees, other=degrees)
@settings(max_examples=200)
def test_a_cylinder_warmed_gains_pressure_and_no_gas(litres: float, bar: float, celsius: float, other: float) -> None:
    mass = nitrogen_mass_kg(litres, bar, celsius)
    assert mass > 0
    assert gauge_bar_at(mass, litres, celsius) == pytest.approx(bar, rel=1e-7, abs=1e-7)
    if other > celsius + 0.01:
        assert gauge_bar_at(mass, litres, other) > bar


@given(low=bars, high=bars, celsius=degrees)
def test_more_on_the_gauge_is_more_gas(low: float, high: float, celsius: float) -> None:
    if high > low + 1e-6:
        assert nitrogen_mass_kg(50, high, celsius) > nitrogen_mass_kg(50, low, celsius)
        assert contents_fraction(low, high, celsius) < 1


@given(
    room=st.floats(0.01, 1e6),
    release=st.floats(0, 1e6),
    flow=st.floats(0, 1e6),
    hours=st.none() | st.floats(0, 1e6),
    start=st.floats(1, 25),
)
def test_oxygen_lies_between_none_and_what_there_was(
    room: float, release: float, flow: float, hours: float | None, start: float
) -> None:
    found = [oxygen_after_release(room, release, model, start) for model in MIXINGS]
    cautious, mixed, bold = found
    assert cautious <= mixed * (1 + 1e-12)
    assert mixed <= bold * (1 + 1e-12)
    found.append(oxygen_supplied(room, release, flow, hours, start))
    if flow > release:
        found.append(oxygen_extracted(room, release, flow, hours, start))
    assert all(0 <= each <= start * (1 + 1e-12) for each in found)


@given(
    room=st.floats(0.01, 1e6),
    release=st.floats(0, 1e5),
    supply=st.floats(0, 1e5),
    keep=st.floats(0.1, 20.9),
)
def test_the_moment_is_when_it_stands_there_or_never(room: float, release: float, supply: float, keep: float) -> None:
    hours = hours_until_oxygen(keep, room, release, supply)
    if hours is None:  # never, or later than a number can say
        assert oxygen_supplied(room, release, supply, 1_000_000) >= keep * (1 - 1e-9)
    elif hours <= 1_000_000:
        assert hours >= 0
        assert oxygen_supplied(room, release, supply, hours) == pytest.approx(keep, rel=1e-6)


@pytest.mark.parametrize("release", [5e-324, 1e-300, 1e-20])
@pytest.mark.parametrize("keep", [0.1, 19.5])
def test_the_smallest_leak_does_not_get_there_at_once(release: float, keep: float) -> None:
    """Rounded away among floats as small as they come, it seemed to be there at once, or never."""
    assert hours_until_oxygen(keep, 50, release, 0) is None or hours_until_oxygen(keep, 50, release, 0) > 1e9
    assert hours_until_oxygen(keep, 50, release, release) is None or keep > 20.9 / 2


def test_nothing_escaping_never_gets_short_and_at_once_is_at_once() -> None:
    assert hours_until_oxygen(19.5, 50, 0, 0) is None
    assert hours_until_oxygen(20.9, 50, 6, 100) == 0
    assert largest_release_supplied_m3_h(0, 19.5) == 0
    assert hours_until_oxygen_extracted(19.5, 50, 0, 100) is None
    assert hours_until_oxygen_extracted(20.9, 50, 6, 100) == 0
    with pytest.raises(ValueError, match="extract_m3_h"):
        hours_until_oxygen_extracted(19.5, 50, 6, -1)
    for ask in (lambda: hours_until_oxygen(0, 50, 6, 100), lambda: largest_release_supplied_m3_h(100, 21)):
        with pytest.raises(ValueError, match="keep_percent must be"):
            ask()
