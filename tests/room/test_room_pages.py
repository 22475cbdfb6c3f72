"""The pages that show the room."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.people.models import Person
from shop.room import queries
from shop.room.models import Cylinder, Reading, ReadingKind
from tests.makers import moment
from tests.room import makers

pytestmark = pytest.mark.django_db

PAGES = (
    "/room/",
    "/room/readings/",
    "/room/readings/room_c/",
    "/room/readings/nitrogen_bar/",
    "/room/cylinders/",
    "/room/limits/",
)


def some_days(by: Person, days: int, *, until: str = "2025-03-31 08:10") -> Cylinder:
    """A connected cylinder and a reading of every kind on each of the days up to `until`."""
    end = moment(until)
    with clock.moved(end - timedelta(days=days)):
        cylinder = makers.connected_cylinder(by, f"N-{days}")
    rows: list[dict[str, Any]] = []
    for back in range(days):
        at = end - timedelta(days=back)
        rows += [
            {"kind": "nitrogen_bar", "value": 20 + back * 150 / days, "at": at, "cylinder": cylinder},
            {"kind": "room_c", "value": 20 + back % 4, "at": at},
            {"kind": "room_rh", "value": 45 + back % 7, "at": at},
            {"kind": "hold_down_kpa", "value": 41, "at": at},
            {"kind": "chip_kpa", "value": 12, "at": at},
            {"kind": "trap_kpa", "value": 38, "at": at},
            {"kind": "pump_kpa", "value": 42, "at": at},
            {"kind": "store_c", "value": 19, "at": at},
            {"kind": "store_rh", "value": 47, "at": at},
            {"kind": "heater_ma", "value": 480, "at": at},
        ]
    Reading.objects.bulk_create(Reading(by=by, recorded_at=row["at"], **row) for row in rows)
    return cylinder


@pytest.mark.parametrize("page", PAGES)
def test_an_empty_room_has_pages(engineer: Person, client_of: Callable, page: str) -> None:
    assert client_of(engineer).get(page).status_code == 200


@pytest.mark.parametrize("page", [*PAGES, "/room/cylinders/{}/"])
def test_pages_for_everyone_signed_in_and_only_to_be_read(
    assistant: Person, visitor: Person, client_of: Callable, page: str, at: Callable
) -> None:
    call_command("loaddata", "starter_room", verbosity=0)
    address = page.format(some_days(assistant, 5).pk)
    with at("2025-03-31 09:00"):
        shown = client_of(visitor).get(address)
    assert shown.status_code == 200
    for write in ("/take/", "/correct/", "/add/", "/empty/", "/reset/", "/gas-use/"):
        assert write not in shown.content.decode()
    assert client_of(assistant).post(address).status_code == 405
    assert Client().get(address).status_code == 302


@pytest.mark.parametrize("page", [*PAGES, "/room/cylinders/{}/"])
def test_the_number_of_queries_does_not_grow(assistant: Person, client_of: Callable, page: str, at: Callable) -> None:
    call_command("loaddata", "starter_room", verbosity=0)
    client = client_of(assistant)

    def asked(days: int) -> int:
        if (used := queries.cylinder_rack().connected) is not None:
            long_ago = moment("2024-01-02 08:00")
            Cylinder.objects.filter(pk=used.pk).update(connected_at=long_ago, empty_at=long_ago)
        cylinder = some_days(assistant, days)
        with (
            at("2025-03-31 09:00"),
            CaptureQueriesContext(
                connection,
            ) as caught,
        ):
            assert client.get(page.format(cylinder.pk)).status_code == 200
        return len(caught)

    few = asked(3)
    assert asked(60) == few
    assert few <= 12


def test_the_rooms_page_tells_when_by_whom_and_against_which_limit(
    assistant: Person, client_of: Callable, at: Callable
) -> None:
    call_command("loaddata", "starter_room", verbosity=0)
    with at("2025-03-30 08:10"):
        makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=100, room_c=21, room_rh=50, hold_down_kpa=41)
    with at("2025-03-31 08:10"):
        makers.take_anyway(assistant, room_c=26.5, room_rh=50)
        page = client_of(assistant).get("/room/").content.decode()
    assert "Not today:</b> yesterday at 08:10, Asta Pellow" in page
    assert "today at 08:10, Asta Pellow" in page
    assert "Care below 18.0\u00a0°C or above 25.0\u00a0°C; hold below 15.0\u00a0°C or above 30.0\u00a0°C." in page
    assert "grade-care" in page
    assert "m³ at 15\u00a0°C and 1\u00a0bar" in page
    assert "No limits set." not in page


def test_a_kinds_page_draws_tells_and_lists(assistant: Person, client_of: Callable, at: Callable) -> None:
    call_command("loaddata", "starter_room", verbosity=0)
    some_days(assistant, 40)
    with at("2025-03-31 09:00"):
        client = client_of(assistant)
        month, quarter = client.get("/room/readings/room_rh/"), client.get("/room/readings/room_rh/?days=90")
    assert month.context["summary"].count == 30
    assert quarter.context["summary"].count == 40
    page = month.content.decode()
    assert "<svg" in page
    assert "30 readings between 45\u00a0% and 51\u00a0%" in page
    assert len(month.context["leaf"].rows) == 25
    older = client.get(f"/room/readings/room_rh/?from={month.context['leaf'].older}")
    assert len(older.context["leaf"].rows) == 15


def test_days_that_are_none_of_the_choices_give_the_first(assistant: Person, client_of: Callable) -> None:
    for days in ("7", "-30", "9" * 5000, "<b>"):
        answer = client_of(assistant).get("/room/readings/room_rh/", {"days": days})
        assert answer.context["days"] == 30


def test_a_kind_that_is_none_has_no_page(assistant: Person, client_of: Callable) -> None:
    assert client_of(assistant).get("/room/readings/noise/").status_code == 404


def test_the_list_of_readings_is_narrowed_to_a_kind(assistant: Person, client_of: Callable) -> None:
    makers.take(assistant, room_c=21, room_rh=45)
    client = client_of(assistant)
    assert len(client.get("/room/readings/").context["leaf"].rows) == 2
    assert [row.kind for row in client.get("/room/readings/?kind=room_c").context["leaf"].rows] == ["room_c"]
    assert client.get("/room/readings/?kind=noise").status_code == 200


def test_a_cylinders_page_tells_the_gas_by_a_real_gas(assistant: Person, client_of: Callable, at: Callable) -> None:
    with at("2025-03-30 08:10"):
        cylinder = makers.connected_cylinder(assistant)
        makers.take(assistant, nitrogen_bar=195, room_c=20)
    with at("2025-03-31 08:10"):
        makers.take_anyway(assistant, nitrogen_bar=180, room_c=20)
        page = client_of(assistant).get(f"/room/cylinders/{cylinder.pk}/").content.decode()
    assert "11.21 kg when full" in page
    assert "2 readings over 1 day: the gauge fell by 15" in page
    assert "Half the gauge is not half the gas" in page
    assert "oxygen monitor" in page
    assert "safe" not in page.replace("safety data", "")


def test_latest_before_a_moment(assistant: Person, at: Callable) -> None:
    with at("2025-03-30 08:10"):
        first = makers.take(assistant, room_c=20)
    with at("2025-03-31 08:10"):
        second = makers.take(assistant, room_c=22)
    assert queries.latest(ReadingKind.ROOM_C) == second
    assert queries.latest(ReadingKind.ROOM_C, moment("2025-03-31 00:00")) == first
    assert queries.latest(ReadingKind.ROOM_RH) is None


def test_the_latest_of_all_kinds_is_one_query(assistant: Person, django_assert_num_queries: Callable) -> None:
    some_days(assistant, 5)
    with django_assert_num_queries(1):
        found = queries.latest_all()
    assert set(found) == set(ReadingKind)
    assert found[ReadingKind.NITROGEN_BAR].value == 20


@pytest.mark.parametrize("address", ["/", "/room/", "/room/cylinders/", "cylinder"])
def test_no_share_of_gas_is_told_before_a_gauge_was_read(
    assistant: Person, client_of: Callable, at: Callable, address: str
) -> None:
    with at("2025-03-03 08:10"):
        cylinder = makers.connected_cylinder(assistant)
        browser = client_of(assistant)
        address = cylinder.get_absolute_url() if address == "cylinder" else address
        before = browser.get(address).content.decode().split("Half the gauge is not half the gas")[0]
        assert "Not read yet" in before or address == "/"
        assert "of the gas" not in before
        assert "Sides left" not in before
        if address != "/":
            makers.take_anyway(assistant, nitrogen_bar=150, room_c=20)
            assert "of the gas" in browser.get(address).content.decode()
