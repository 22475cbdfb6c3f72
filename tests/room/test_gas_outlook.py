"""For how long the gas lasts, and when to order."""

from collections.abc import Callable, Mapping
from datetime import date, timedelta

import pytest
from django.urls import reverse

from shop import clock, concern
from shop.calc import gas
from shop.people.models import Person
from shop.room import queries, since
from shop.room.models import Cylinder, GasForecast, GasUse
from shop.room.outlook import keep_gas_forecast
from tests.makers import at as moved
from tests.room import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def booked(monkeypatch: pytest.MonkeyPatch) -> Callable[[Mapping[int, int]], None]:
    """Say how many sides are booked, by the number of days from today."""

    def say(by_day: Mapping[int, int]) -> None:
        monkeypatch.setattr(
            since, "_booked", lambda today: {today + timedelta(days=day): many for day, many in by_day.items()}
        )

    return say


def mornings(by: Person, *, days: int, g_day: float) -> Cylinder:
    """A cylinder connected on 3 March and read each morning, so many grams less a day; it is the last of them now."""
    with moved("2025-03-03 08:00"):
        cylinder = makers.connected_cylinder(by)
    kg = gas.nitrogen_mass_kg(50.0, 200.0, 15.0)
    for day in range(days):
        with moved("2025-03-03 08:30"):
            when = clock.now() + timedelta(days=day)
        with clock.moved(when):
            bar = round(gas.gauge_bar_at(kg - day * g_day / 1000, 50.0, 20.0), 1)
            makers.take_anyway(by, nitrogen_bar=bar, room_c=20.0)
    return cylinder


def outlook() -> queries.GasOutlook:
    rack = queries.cylinder_rack()
    state = queries.gas_state(clock.now(), rack=rack)
    assert state is not None
    return queries.gas_outlook(state, rack)


def test_the_days_use_tells_the_day(assistant: Person) -> None:
    mornings(assistant, days=10, g_day=500.0)
    with moved("2025-03-12 09:00"):
        found = outlook()
    assert found.pace.per_day is not None
    assert found.pace.per_day.middle == pytest.approx(500, rel=0.02)
    assert found.change is not None
    usable = 1000 * (gas.nitrogen_mass_kg(50.0, 200.0, 15.0) - 4.5 - gas.nitrogen_mass_kg(50.0, 10.0, 20.0))
    likely = date(2025, 3, 12) + timedelta(days=-(-usable // 500) - 1)
    assert found.change.likely == likely
    assert found.change.soonest <= likely <= found.change.latest
    assert found.order_by == found.all_gone.soonest - timedelta(days=7)


def test_what_is_booked_brings_it_forward_and_a_spare_puts_the_order_off(assistant: Person, booked) -> None:
    mornings(assistant, days=10, g_day=500.0)
    booked({0: 40, 1: 40, 2: 40})
    with moved("2025-03-12 09:00"):
        alone = outlook()
        makers.add_cylinder(assistant, "N-18")
        spared = outlook()
    assert alone.change.by_bookings
    assert alone.change.likely == date(2025, 3, 14)  # at the shop's own 60 g a side, for no sides are known
    assert (alone.booked_sides, alone.booked_until) == (120, date(2025, 3, 14))
    assert spared.spares == 1
    assert spared.change == alone.change
    assert spared.order_by > alone.order_by


def test_the_shops_lead_time_counts(assistant: Person) -> None:
    mornings(assistant, days=10, g_day=500.0)
    with moved("2025-03-12 09:00"):
        before = outlook().order_by
        GasUse.objects.update_or_create(pk=1, defaults={"lead_days": 12})
        assert before - outlook().order_by == timedelta(days=5)


def test_an_order_that_falls_due_is_a_concern_and_a_delivery_settles_it(assistant: Person) -> None:
    mornings(assistant, days=12, g_day=700.0)
    with moved("2025-03-14 09:00"):
        assert "order by" in keep_gas_forecast()
        (worry,) = [each for each in concern.gather(clock.now()) if each.key.startswith("room:gas:order")]
        assert worry.grade == concern.Grade.CARE
        assert worry.by is not None
        assert GasForecast.objects.get().order_by == clock.day_of(worry.by)
        makers.add_cylinder(assistant, "N-18")
        assert not [each for each in concern.gather(clock.now()) if each.key.startswith("room:gas:order")]
    with moved("2025-03-18 09:00"):  # an outlook that nobody made anew says nothing
        Cylinder.objects.filter(mark="N-18").delete()
        assert not [each for each in concern.gather(clock.now()) if each.key.startswith("room:gas:order")]


def test_nothing_to_go_by_keeps_nothing(assistant: Person) -> None:
    assert keep_gas_forecast() == "nothing to go by"
    makers.connected_cylinder(assistant)
    assert keep_gas_forecast() == "nothing to go by"
    assert not GasForecast.objects.exists()


def test_the_page_tells_it(client_of, visitor: Person, assistant: Person) -> None:
    mornings(assistant, days=10, g_day=500.0)
    with moved("2025-03-12 09:00"):
        words = client_of(visitor).get(reverse("room:cylinders")).content.decode()
        assert "nineteen times in twenty" in words
        assert "10 gauge readings" in words


def test_the_page_of_few_readings_says_so(client_of, visitor: Person, assistant: Person) -> None:
    with moved("2025-03-12 09:00"):
        makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=200.0, room_c=15.0)
        assert "Too little to go by" in client_of(visitor).get(reverse("room:cylinders")).content.decode()


def test_more_readings_ask_no_more_of_the_database(client_of, visitor, assistant, django_assert_max_num_queries):
    mornings(assistant, days=30, g_day=200.0)
    client = client_of(visitor)
    with moved("2025-04-01 09:00"), django_assert_max_num_queries(12):
        client.get(reverse("room:cylinders"))


# What is known of a cylinder ------------------------------------------------------------------------------------------


def test_when_a_test_is_due_is_told(client_of, engineer: Person, assistant: Person) -> None:
    with moved("2025-03-12 09:00"):
        cylinder = makers.add_cylinder(assistant, stamp="03-15*", owner=" Northgate  Gases", rent_month=None)
        assert (cylinder.tested_on, cylinder.test_years, cylinder.owner) == (date(2015, 3, 1), 10, "Northgate Gases")
        assert cylinder.requalify_by == date(2025, 3, 1)
        (worry,) = [each for each in concern.gather(clock.now()) if each.key.startswith("room:gas:test")]
        assert worry.grade == concern.Grade.NOTE
        assert "Northgate Gases" in worry.what_to_do
        assert "and past" in client_of(engineer).get(cylinder.get_absolute_url()).content.decode()
    with moved("2025-02-27 09:00"):
        assert not [each for each in concern.gather(clock.now()) if each.key.startswith("room:gas:test")]


def test_moments_of_a_round_name_who(assistant: Person, engineer: Person) -> None:
    with moved("2025-03-03 09:00"):
        cylinder = makers.add_cylinder(assistant)
        makers.connect_cylinder(engineer, cylinder)
        emptied = makers.empty_cylinder(assistant, cylinder, sure=("at:not-empty:200",))
    assert (emptied.delivered_by, emptied.connected_by, emptied.empty_by) == (assistant, engineer, assistant)
