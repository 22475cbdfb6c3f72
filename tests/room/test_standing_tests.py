"""Standing tests: a gauge read twice while nothing runs."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from shop import clock, concern
from shop.calc import gas
from shop.people.models import Person
from shop.refusal import Doubtful, NotAllowed, Refused
from shop.room import actions, queries, since
from shop.room.models import Reading, StandingTest
from tests.carrying.files import lines
from tests.makers import moment
from tests.room import instruments, makers

pytestmark = pytest.mark.django_db


def drop(by: Person, test: StandingTest, why: str = "Somebody drew gas.") -> StandingTest:
    return actions.drop_standing_test(by=by, once=uuid4(), test=test, why=why)


def worries(word: str = "room:gas:leak") -> list[concern.Concern]:
    return [each for each in concern.gather(clock.now()) if each.key.startswith(word)]


def stood(by: Person, at: Callable, *, first: tuple[float, float], last: tuple[float, float]) -> StandingTest:
    """A night's test of a cylinder connected the evening before; bar and degrees at both ends."""
    with at("2025-03-03 18:00"):
        cylinder = makers.connected_cylinder(by)
    with at("2025-03-03 19:00"):
        test = makers.begin_standing_test(by, cylinder, *first)
    with at("2025-03-04 07:00"):
        return makers.end_standing_test(by, test, *last)


def found(test: StandingTest) -> queries.Tightness:
    ends = queries.ends_of(test)
    assert ends is not None
    return queries.tightness(test.cylinder, ends)


def test_cooling_is_no_leak(assistant: Person, at: Callable) -> None:
    """The same mass at 5 degrees less shows some 5 bar less."""
    mass = gas.nitrogen_mass_kg(50.0, 180.0, 21.0)
    test = stood(assistant, at, first=(180.0, 21.0), last=(round(gas.gauge_bar_at(mass, 50.0, 16.0), 1), 16.0))
    assert test.first.value - test.last.value > 4
    said = found(test)
    assert not said.is_leak
    assert abs(said.g_day) < 20
    assert said.low_g_day < 0 < said.high_g_day
    rate, low, high = (f"{round(each)}".replace("-", "\u2212") for each in said.rates)
    assert f"No leak shows: {rate}\u00a0g a day, between {low} and {high}" in said.words
    assert low.startswith("\u2212")
    assert f"tells a leak from {said.found_from:.0f}\u00a0g a day on" in said.words
    with at("2025-03-04 07:05"):
        assert worries() == []


def test_a_leak_beyond_its_uncertainty_is_a_concern(assistant: Person, at: Callable) -> None:
    test = stood(assistant, at, first=(180.0, 20.0), last=(165.0, 20.0))
    said = found(test)
    lost = 1000 * (gas.nitrogen_mass_kg(50.0, 180.0, 20.0) - gas.nitrogen_mass_kg(50.0, 165.0, 20.0))
    assert said.g_day == pytest.approx(2 * lost)
    assert said.is_leak
    assert said.low_g_day < said.g_day < said.high_g_day
    with at("2025-03-04 07:05"):
        (worry,) = worries()
        assert worry.grade == concern.Grade.CARE
        assert f"{said.g_day:.0f} g a day" in worry.reason
        assert {each.text for each in worry.quantities} == {"180\u00a0bar", "165\u00a0bar"}


def test_it_goes_with_a_tight_test_a_correction_or_the_cylinder(
    assistant: Person, engineer: Person, at: Callable
) -> None:
    test = stood(assistant, at, first=(180.0, 20.0), last=(165.0, 20.0))
    with at("2025-03-04 07:30"):
        actions.correct_reading(by=engineer, once=uuid4(), reading=test.last, value=180.0, reason="Misread.")
        assert worries() == []
        assert not found(queries.standing_results(test.cylinder)[0].test).is_leak
    with at("2025-03-04 08:00"):
        again = makers.begin_standing_test(assistant, test.cylinder, 180.0, 20.0)
        (runs,) = worries("room:gas:standing")
        assert runs.grade == concern.Grade.NOTE
    with at("2025-03-04 20:00"):
        makers.end_standing_test(assistant, again, 160.0, 20.0)
        assert len(worries()) == 1
        makers.empty_cylinder(assistant, test.cylinder, sure=("at:not-empty:160",))
        assert worries() == []


def test_a_dropped_test_says_nothing(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 18:00"):
        test = makers.begin_standing_test(assistant, makers.connected_cylinder(assistant))
        dropped = drop(assistant, test, "  Gas was   drawn ")
        assert (dropped.dropped_by, dropped.why, dropped.is_running) == (assistant, "Gas was drawn", False)
        assert queries.ends_of(dropped) is None
        with pytest.raises(Refused, match="over already"):
            drop(assistant, test)
        with pytest.raises(Refused, match="over"):
            makers.end_standing_test(assistant, test, at=clock.now())
        makers.begin_standing_test(assistant, test.cylinder)
    assert Reading.objects.filter(kind="nitrogen_bar").count() == 2


def test_what_a_beginning_refuses(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 18:00"):
        spare = makers.add_cylinder(assistant, "N-18")
        with pytest.raises(Refused, match="not connected"):
            makers.begin_standing_test(assistant, spare)
        cylinder = makers.connected_cylinder(assistant)
        for celsius in (-150.0, 66.0):
            with pytest.raises(Refused, match="thermometer") as raised:
                makers.begin_standing_test(assistant, cylinder, celsius=celsius)
            assert raised.value.field == "celsius"
        with pytest.raises(Refused, match="less than nought") as raised:
            makers.begin_standing_test(assistant, cylinder, gauge_bar=-1.0)
        assert raised.value.field == "gauge_bar"
        with pytest.raises(Refused, match="not connected then"):
            makers.begin_standing_test(assistant, cylinder, at=clock.now() - timedelta(days=2))
        with pytest.raises(
            Doubtful, match="Did you mean 2900 psi"
        ) as asked:  # psi typed as bar, found by the cylinder's own fill
            actions.begin_standing_test(by=assistant, once=uuid4(), cylinder=cylinder, gauge_bar=2900.0, celsius=20.0)
        assert asked.value.doubts[0].field == "gauge_bar"
        makers.begin_standing_test(assistant, cylinder)
        with pytest.raises(Refused, match="running already"):
            makers.begin_standing_test(assistant, cylinder)


def test_what_an_end_refuses(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 18:00"):
        test = makers.begin_standing_test(assistant, makers.connected_cylinder(assistant))
    with at("2025-03-03 18:10"), pytest.raises(Refused, match="15 minutes") as raised:
        makers.end_standing_test(assistant, test)
    assert raised.value.field == "at"


def test_sides_cut_in_between_spoil_it(assistant: Person, at: Callable, monkeypatch: pytest.MonkeyPatch) -> None:
    with at("2025-03-03 18:00"):
        test = makers.begin_standing_test(assistant, makers.connected_cylinder(assistant))
    monkeypatch.setattr(since, "sides_since", lambda gauge: 2)
    with at("2025-03-04 18:00"), pytest.raises(Refused, match="2 sides were cut"):
        makers.end_standing_test(assistant, test)


def test_the_tables_refuse_what_makes_no_sense(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 18:00"):
        test = makers.begin_standing_test(assistant, makers.connected_cylinder(assistant))
    rows = StandingTest.objects.filter(pk=test.pk)
    for wrong in ({"last_c": 20.0}, {"dropped_at": moment("2025-03-03 19:00")}):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**wrong)


def test_by_whom_and_how(client_of: Callable[[Person], Client], assistant: Person, visitor: Person) -> None:
    cylinder = makers.connect_cylinder(
        assistant,
        makers.add_cylinder(assistant, delivered_on=clock.today() - timedelta(days=3)),
        at=clock.now() - timedelta(days=1),
    )
    with pytest.raises(NotAllowed):
        makers.begin_standing_test(visitor, cylinder)
    page = reverse("room:begin-standing-test", args=[cylinder.pk])
    client, token = client_of(assistant), str(uuid4())
    assert client.put(page).status_code == 405
    assert Client().post(page).status_code == 302
    earlier = (clock.now() - timedelta(hours=9)).strftime("%Y-%m-%dT%H:%M")
    typed = {"once": token, "gauge_bar": "190", "celsius": "20,5", "at": earlier}
    for _ in range(2):  # twice is once
        shown = client.post(page, typed, follow=True)
        assert "Draw no nitrogen" in shown.content.decode()
    test = StandingTest.objects.get()
    with pytest.raises(NotAllowed):
        drop(visitor, test)
    with pytest.raises(NotAllowed):
        makers.end_standing_test(visitor, test)
    end = reverse("room:end-standing-test", args=[test.pk])
    shown = client.post(end, {"once": str(uuid4()), "gauge_bar": "150", "celsius": "20.5"}, follow=True)
    if shown.status_code == 422:  # it asks about so much gone
        sure = [doubt.key for doubt in shown.context["form"].doubts]
        shown = client.post(
            end, {"once": str(uuid4()), "gauge_bar": "150", "celsius": "20.5", "sure": sure}, follow=True
        )
    words = shown.content.decode()
    assert "It leaks" in words
    assert client_of(visitor).get(cylinder.get_absolute_url()).status_code == 200
    (line,) = lines(client_of(visitor), "standing-tests")
    assert (line["Cylinder"], line["Gauge, bar"], line["A leak"]) == (cylinder.mark, "190.0", "yes")
    other = makers.begin_standing_test(assistant, cylinder, 150.0)
    gone = reverse("room:drop-standing-test", args=[other.pk])
    assert client_of(assistant).post(gone, {"once": str(uuid4()), "why": ""}).status_code == 422
    shown = client_of(assistant).post(gone, {"once": str(uuid4()), "why": "Drew gas."}, follow=True)
    assert "Drew gas." in shown.content.decode()


def test_the_temperature_read_with_the_gauge_goes_before_the_rooms(
    assistant: Person, engineer: Person, at: Callable, client: Client
) -> None:
    """172.4 bar (2500 psi) at 15.6 °C (60 °F) is 9.82 kg in 50 l, whatever the room's thermometer showed that day."""
    with at("2025-03-03 18:00"):
        cylinder = makers.connected_cylinder(assistant)
        makers.take(assistant, room_c=20.0)
    with at("2025-03-03 19:00"):
        test = makers.begin_standing_test(assistant, cylinder, 173.0, 18.0)
    with at("2025-03-04 07:00"):
        makers.end_standing_test(assistant, test, 172.37, 15.56)
        makers.take(assistant, room_c=20.0)
        expected = gas.nitrogen_mass_kg(50.0, 172.37, 15.56)
        state = queries.gas_state(clock.now())
        assert state is not None
        assert (state.celsius, state.is_assumed_c) == (15.56, False)
        assert state.mass_kg == pytest.approx(expected)
        client.force_login(assistant)
        page = client.get(cylinder.get_absolute_url()).content.decode()
        assert page.count(f"{expected:.2f} kg") == 2  # the headline and the table
        first, last = queries.gauges_of(cylinder).order_by("at")
        assert queries.celsius_beside([first, last]) == {first.pk: 18.0, last.pk: 15.56}
        right = actions.correct_reading(by=engineer, once=uuid4(), reading=last, value=172.0, reason="Misread.")
        assert queries.celsius_of(right) == 15.56
        state = queries.gas_state(clock.now())
        assert state is not None
        assert state.mass_kg == pytest.approx(gas.nitrogen_mass_kg(50.0, 172.0, 15.56))


def test_a_rise_is_judged_by_the_temperature_of_the_test(assistant: Person, at: Callable) -> None:
    """From 5 °C, read beside the cylinder, to 20 °C the same gas shows some 12 bar more: nothing to ask about."""
    with at("2025-03-03 18:00"):
        cylinder = makers.connected_cylinder(assistant)
        makers.take(assistant, room_c=20.0)
        makers.begin_standing_test(assistant, cylinder, 170.0, 5.0)
    warmed = gas.gauge_bar_at(gas.nitrogen_mass_kg(50.0, 170.0, 5.0), 50.0, 20.0)
    assert warmed > 180
    with at("2025-03-03 21:00"):
        assert makers.take(assistant, nitrogen_bar=round(warmed, 1), room_c=20.0).value == round(warmed, 1)


def test_an_end_below_what_was_read_after_it_is_refused(assistant: Person, at: Callable) -> None:
    """No gas comes back: a later reading that shows more says that one of the two is wrong."""
    with at("2025-03-03 18:00"):
        test = makers.begin_standing_test(assistant, makers.connected_cylinder(assistant), 180.0, 20.0)
    with at("2025-03-04 00:05"):
        makers.take(assistant, nitrogen_bar=178.0, room_c=20.0)
    ended = moment("2025-03-03 23:30")
    with at("2025-03-04 07:00"):
        with pytest.raises(Refused, match=r"158.*less than the gauge showed after that: 178") as raised:
            actions.end_standing_test(by=assistant, once=uuid4(), test=test, gauge_bar=158.0, celsius=20.0, at=ended)
        assert raised.value.field == "gauge_bar"
        assert worries() == []
        with pytest.raises(Doubtful, match="was read after that already") as asked:
            actions.end_standing_test(by=assistant, once=uuid4(), test=test, gauge_bar=179.0, celsius=20.0, at=ended)
        assert asked.value.doubts[0].field == "at"
        # colder by 25 degrees the same gas shows less: that is no contradiction
        makers.end_standing_test(assistant, test, 162.0, -5.0, at=ended)


def test_a_large_leak_is_told_in_hours(assistant: Person, at: Callable) -> None:
    said = found(stood(assistant, at, first=(180.0, 20.0), last=(60.0, 20.0)))
    assert said.lasts_days is not None
    assert said.lasts_words == f"{24 * said.lasts_days:.0f} hours"
    assert said.lasts_days < 2
    slow = replace(said, lasts_days=3.4)
    assert (slow.lasts_words, replace(said, lasts_days=1 / 24).lasts_words) == ("3 days", "1 hour")
    assert replace(said, lasts_days=None).lasts_words == ""


def test_an_instrument_s_rise_is_judged_by_it_too(owner: Person, at: Callable) -> None:
    with at("2025-03-03 18:00"):
        cylinder = makers.connected_cylinder(owner)
        makers.begin_standing_test(owner, cylinder, 170.0, 5.0)
        makers.take(owner, room_c=20.0)
    warmed = gas.gauge_bar_at(gas.nitrogen_mass_kg(50.0, 170.0, 5.0), 50.0, 20.0)
    with at("2025-03-03 21:00"):
        instruments.add_instrument(owner, "Gauge", ("nitrogen_bar",))
        (told,) = instruments.send([instruments.one("nitrogen_bar", round(warmed, 1), "bar")]).json()["results"]
        assert told["outcome"] == "kept", told
