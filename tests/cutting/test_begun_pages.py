"""A side that runs, or was stopped and not judged, stands where the day's sides do."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking, RunningSide
from shop.morning.plan import plan_of_day
from shop.people.models import Person
from shop.stock import actions as stock
from shop.stock.queries import blank_stock
from tests.cutting.makers import Bench, address, make_booking, make_stylus, once, start, text
from tests.makers import at

pytestmark = pytest.mark.django_db

DAY = "2025-03-03"


@pytest.fixture
def signed_in(bench: Bench, client_of: Callable[[Person], Client]) -> Client:
    return client_of(bench.engineer)


def booked(bench: Bench) -> Booking:
    return make_booking(bench.engineer, [WantedSide("A", 1200), WantedSide("B", 1200)], code="B-1")


def running(bench: Bench, **other: Any) -> RunningSide:
    with at(f"{DAY} 10:12"):
        return start(bench, **other)


def stop(bench: Bench, run: RunningSide) -> None:
    with at(f"{DAY} 10:31"):
        actions.stop_side(by=bench.engineer, once=once(), run=run)


def test_todays_page_shows_it_in_its_booking(
    bench: Bench, signed_in: Client, django_assert_max_num_queries: Any
) -> None:
    side_b = booked(bench).wanted.get(label="B")
    run = running(bench, wanted=side_b)
    log_b = f'href="{address("log-side")}?wanted={side_b.pk}"'
    with at(f"{DAY} 10:15"):
        with django_assert_max_num_queries(15):
            page = text(signed_in.get("/"))
        assert "runs since 10:12" in page
        assert f'href="{run.get_absolute_url()}"' in page
        assert log_b not in page
    stop(bench, run)
    with at(f"{DAY} 10:40"):
        assert "stopped at 10:31: say what became of it" in text(signed_in.get("/"))
    with at("2025-03-04 08:00"):
        assert "stopped at 10:31 on 3 March: say what became of it" in text(signed_in.get("/"))
        actions.drop_side(by=bench.engineer, once=once(), run=run, why="the head never went down")
        page = text(signed_in.get("/"))
        assert "stopped at" not in page
        assert log_b in page


def test_todays_page_shows_one_that_is_none_of_the_day(bench: Bench, signed_in: Client) -> None:
    run = running(bench)
    with at(f"{DAY} 10:15"):
        page = text(signed_in.get("/"))
        assert f'href="{run.get_absolute_url()}"' in page
        assert "A side without a booking</b> <span>on Lathe runs since 10:12" in page
        assert "Nothing is booked for today" in page


def test_each_that_is_under_way_is_told_and_not_only_the_first_of_a_lathe(bench: Bench) -> None:
    first = running(bench)
    stop(bench, first)
    with at(f"{DAY} 10:40"):
        second = start(bench)
        there = queries.begun()
        assert [(one.pk, one.is_running) for one in there] == [(first.pk, False), (second.pk, True)]
        assert [one.lathe for one in there] == ["Lathe", "Lathe"]
        assert there[0].started_at == first.started_at
        assert there[1].stopped_at is None


def test_the_plan_of_the_day_takes_its_blank_for_gone(bench: Bench) -> None:
    stock.use_stock(by=bench.engineer, once=once(), lot=bench.lot, quantity=298)
    booking = booked(bench)
    run = running(bench, wanted=booking.wanted.get(label="A"))
    with at(f"{DAY} 10:15"):
        plan = plan_of_day(clock.today(), clock.now())
        side_a, side_b = plan["sides"]
        assert side_a["under_way"] == {"words": "runs since 10:12", "link": run.get_absolute_url()}
        assert (side_a["blank"]["words"], side_b["blank"]["words"]) == ("on the lathe", "takes the last one")
        assert side_b["under_way"] is None
        assert plan["stores"][0]["sum"] == "1 wanted, 1 usable, 1 on a lathe"
        assert plan["stores"][0]["mark"]["enough"]


def test_one_without_a_booking_takes_a_blank_from_what_is_free(bench: Bench) -> None:
    stock.use_stock(by=bench.engineer, once=once(), lot=bench.lot, quantity=298)
    booking = booked(bench)
    assert blank_stock(clock.today())[14].free == 0
    run = running(bench)
    with at(f"{DAY} 10:15"):
        there = blank_stock(clock.today())[14]
        assert (there.usable, there.claimed, there.free) == (2, 3, -1)
        assert [claim.label for claim in there.claims if claim.link == run.get_absolute_url()] == [
            "a side under way on Lathe"
        ]
        plan = plan_of_day(clock.today(), clock.now())
        assert [side["blank"]["words"] for side in plan["sides"]] == ["takes the last one", "none left"]
        assert plan["stores"][0]["sum"] == "2 wanted, 1 usable, 1 on a lathe"
        stop_and_drop(bench, run)
        assert blank_stock(clock.today())[14].free == 0
        running_for_a = start(bench, wanted=booking.wanted.get(label="A"))
        assert blank_stock(clock.today())[14].free == 0  # that blank is claimed already
        assert running_for_a.is_running


def stop_and_drop(bench: Bench, run: RunningSide) -> None:
    actions.stop_side(by=bench.engineer, once=once(), run=run)
    actions.drop_side(by=bench.engineer, once=once(), run=run, why="the head never went down")


def test_the_booking_and_the_lists_show_it(bench: Bench, signed_in: Client, django_assert_max_num_queries: Any) -> None:
    booking = booked(bench)
    lathe = actions.add_lathe(by=bench.engineer, once=once(), name="Lathe 2")
    stylus = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=stylus, lathe=lathe)
    run = running(bench, wanted=booking.wanted.get(label="A"))
    other = running(bench, lathe=lathe)
    with at(f"{DAY} 10:15"):
        with django_assert_max_num_queries(13):
            page = text(signed_in.get(booking.get_absolute_url()))
        assert f'href="{run.get_absolute_url()}"' in page
        assert other.get_absolute_url() not in page
        assert "Cut side B" in page
        assert "Cut side A" not in page
        for name in ("bookings", "sides"):
            with django_assert_max_num_queries(12):
                page = text(signed_in.get(address(name)))
            for one in (run, other):
                assert f'href="{one.get_absolute_url()}"' in page
