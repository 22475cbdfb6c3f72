"""What is left in the cylinder."""

from collections.abc import Callable

import pytest

from shop import clock
from shop.people.models import Person
from shop.room import queries
from shop.room.contents import contents, gauge_marks, less_sides
from shop.room.models import Cylinder, GasUse
from tests.cutting.makers import cut, make_bench
from tests.room import makers

pytestmark = pytest.mark.django_db


def test_no_cylinder_no_state(room_row: object) -> None:
    assert queries.gas_state(clock.now()) is None


def test_a_cylinder_that_was_never_read_is_taken_as_delivered(assistant: Person) -> None:
    cylinder = makers.connected_cylinder(assistant)
    state = queries.gas_state(clock.now())
    assert (state.cylinder, state.read_at, state.share) == (cylinder, None, pytest.approx(1))
    # check values, C-7: 50 L at 200 bar g and 15 °C
    assert state.mass_kg == pytest.approx(11.208, rel=1e-3)
    assert state.volume_m3 == pytest.approx(9.583, rel=1e-3)


def test_sides_left_are_those_above_the_reserve(assistant: Person, at: Callable) -> None:
    GasUse.objects.create(pk=1, side_g=100, reserve_bar=10)
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=100, room_c=15)
        state = queries.gas_state(clock.now())
    # densities at 15 °C from the check values' library: 101.01 bar 118.40, 11.01 bar 12.93 kg/m3
    assert state.usable_g == pytest.approx(50 * (118.40 - 12.93), rel=2e-3)
    assert state.sides_left == int(state.usable_g // 100)
    assert not state.is_assumed_c


def test_half_the_gauge_is_not_half_the_gas() -> None:
    """49 L at 2640 psig and 70 °F: half the gauge leaves 52.36 % (check values, computed with CoolProp)."""
    full_bar, celsius = 2640 / 14.5037738, (70 - 32) / 1.8
    cylinder = Cylinder(mark="x", water_volume_l=49.0, service_bar=full_bar, fill_bar=full_bar, fill_c=celsius)
    marks = gauge_marks(cylinder, celsius)
    assert marks[2].gauge_share == 0.5
    assert marks[2].gas_share == pytest.approx(0.5236, abs=5e-4)
    assert marks[4].gas_share == pytest.approx(0.0058, abs=1e-4)


def test_the_temperature_read_nearest_the_gauge_counts(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        makers.take(assistant, room_c=18)
    with at("2025-03-03 12:00"):
        makers.take(assistant, nitrogen_bar=195)
    with at("2025-03-03 13:00"):
        makers.take(assistant, room_c=24)
        assert queries.gas_state(clock.now()).celsius == 24
    with at("2025-03-05 08:00"):
        makers.take(assistant, nitrogen_bar=190)
        state = queries.gas_state(clock.now())
    assert (state.celsius, state.is_assumed_c) == (20, True)


def test_a_side_that_takes_nothing_leaves_the_sides_open(assistant: Person) -> None:
    GasUse.objects.create(pk=1, side_g=0)
    makers.connected_cylinder(assistant)
    assert queries.gas_state(clock.now()).sides_left is None


def test_readings_of_the_cylinder_before_it_are_not_its_own(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        old = makers.connected_cylinder(assistant, "N-1")
        makers.take_anyway(assistant, nitrogen_bar=8, room_c=20)
    with at("2025-03-03 09:10"):
        makers.empty_cylinder(assistant, old)
        makers.connected_cylinder(assistant, "N-2")
        state = queries.gas_state(clock.now())
    assert (state.cylinder.mark, state.read_at, state.gauge_bar) == ("N-2", None, 200)


def test_sides_cut_since_are_told_with_what_is_left(assistant: Person, client_of: Callable, at: Callable) -> None:
    GasUse.objects.create(pk=1, side_g=100, reserve_bar=10)
    with at("2025-03-03 08:10"):
        bench = make_bench()
        cylinder = makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=100, room_c=15)
        full = queries.gas_state(clock.now())
    with at("2025-03-03 11:00"):
        cut(bench)
        cut(bench, outcome="test")
        state = queries.gas_state(clock.now())
        pages = [client_of(assistant).get(page) for page in ("/room/", "/room/cylinders/", cylinder.get_absolute_url())]
    assert state.sides_since == 2
    assert state.gauge_bar == full.gauge_bar
    assert state.mass_kg == pytest.approx(full.mass_kg - 0.2)
    assert state.usable_g == pytest.approx(full.usable_g - 200)
    assert state.sides_left == full.sides_left - 2
    assert state.share < full.share
    for page in pages:
        assert "by the gauge at 08:10, less 2 sides since" in page.content.decode()
    with at("2025-03-03 12:00"):
        makers.take_anyway(assistant, nitrogen_bar=99, room_c=15)
        assert queries.gas_state(clock.now()).sides_since == 0


def test_no_more_is_taken_than_was_in_it(assistant: Person) -> None:
    cylinder = makers.connected_cylinder(assistant)
    use = GasUse(side_g=100, reserve_bar=10)
    left = less_sides(contents(cylinder, 50, 15, use), 10_000, use)
    assert (left.mass_kg, left.share, left.usable_g, left.sides_left) == (0, 0, 0, 0)
