"""Taking readings: what is kept, what is refused, what is asked about."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from shop.calc import units
from shop.people.models import Person
from shop.refusal import Doubtful, NotAllowed, Refused, TokenTrouble
from shop.room import actions
from shop.room.models import Reading, ReadingKind
from tests.makers import moment
from tests.room import makers

PAGE = "/room/readings/take/"

pytestmark = pytest.mark.django_db


def doubts_of(raised: pytest.ExceptionInfo[Doubtful]) -> dict[str, str]:
    """The sentences by field, their no-break spaces made plain."""
    return {doubt.field: doubt.sentence.replace("\u00a0", " ") for doubt in raised.value.doubts}


def test_the_page_is_where_the_map_says() -> None:
    assert reverse("room:take-readings") == PAGE


# What is kept ---------------------------------------------------------------------------------------------------------


def test_readings_of_one_moment_are_kept_together(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.take(assistant, room_c=21.5, room_rh=44, hold_down_kpa=40, chip_kpa=12, heater_ma=480)
    kept = {reading.kind: reading for reading in Reading.objects.all()}
    assert {kind: reading.value for kind, reading in kept.items()} == {
        "room_c": 21.5,
        "room_rh": 44,
        "hold_down_kpa": 40,
        "chip_kpa": 12,
        "heater_ma": 480,
    }
    assert {reading.by for reading in kept.values()} == {assistant}
    assert {reading.at for reading in kept.values()} == {moment("2025-03-03 08:10")}


def test_a_gauge_reading_goes_to_the_cylinder_connected_then(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:00"):
        first = makers.connected_cylinder(assistant, "N-1")
    with at("2025-03-10 08:00"):
        makers.empty_cylinder(assistant, first, sure=("at:not-empty:200",))
        second = makers.connected_cylinder(assistant, "N-2")
    with at("2025-03-11 08:00"):
        assert makers.take(assistant, nitrogen_bar=198).cylinder == second
        earlier = makers.take_anyway(assistant, nitrogen_bar=190, at=moment("2025-03-04 08:00"))
    assert earlier.cylinder == first


def test_a_reading_is_never_changed_or_removed(assistant: Person) -> None:
    reading = makers.take(assistant, room_c=21)
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Reading.objects.filter(pk=reading.pk).update(value=22)
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Reading.objects.filter(pk=reading.pk).delete()


# What is refused ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"room_rh": 101}, "between 0 and 100"),
        ({"room_rh": -1}, "between 0 and 100"),
        ({"room_c": 140}, "cannot be above 100.0"),
        ({"nitrogen_bar": -3}, "cannot be below 0"),
        ({"hold_down_kpa": 130}, "cannot be above 105.0"),
        ({"heater_ma": 90_000}, "cannot be above 5000"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(assistant: Person, values: dict, words: str) -> None:
    makers.connected_cylinder(assistant)
    with pytest.raises(Refused, match=words) as raised:
        makers.take(assistant, **{"chip_kpa": 12.0, **values})
    assert raised.value.field == next(iter(values))
    assert not Reading.objects.exists()


def test_psi_typed_where_bar_is_meant_is_refused_with_the_likely_unit(assistant: Person) -> None:
    makers.connected_cylinder(assistant)
    with pytest.raises(Refused, match=r"Did you mean 2180 psi \(150.bar\)"):
        makers.take(assistant, nitrogen_bar=2180)


def test_a_moment_in_the_future_is_refused(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"), pytest.raises(Refused, match="future") as raised:
        makers.take(assistant, room_c=21, at=moment("2025-03-03 08:11"))
    assert raised.value.field == "at"


def test_a_gauge_without_a_cylinder_is_refused(assistant: Person) -> None:
    with pytest.raises(Refused, match="No cylinder was connected") as raised:
        makers.take(assistant, nitrogen_bar=150)
    assert raised.value.field == "nitrogen_bar"


def test_nothing_typed_is_refused(assistant: Person) -> None:
    with pytest.raises(Refused, match="at least one"):
        makers.take(assistant)


def test_a_visitor_takes_none(visitor: Person) -> None:
    with pytest.raises(NotAllowed):
        makers.take(visitor, room_c=21)


def test_a_missing_token_and_a_stolen_one_are_refused(assistant: Person, engineer: Person) -> None:
    with pytest.raises(TokenTrouble):
        actions.take_readings(by=assistant, once=None, values={ReadingKind.ROOM_C: 21.0})
    token = uuid4()
    actions.take_readings(by=assistant, once=token, values={ReadingKind.ROOM_C: 21.0})
    with pytest.raises(TokenTrouble):
        actions.take_readings(by=engineer, once=token, values={ReadingKind.ROOM_C: 21.0})
    assert Reading.objects.count() == 1


def test_the_same_press_twice_is_one_reading(assistant: Person) -> None:
    token = uuid4()
    first, again = (
        actions.take_readings(by=assistant, once=token, values={ReadingKind.ROOM_C: 21.0}) for _ in range(2)
    )
    assert first == again
    assert Reading.objects.count() == 1


# What is asked about --------------------------------------------------------------------------------------------------


def test_70_typed_as_celsius_is_asked_about(assistant: Person) -> None:
    with pytest.raises(Doubtful) as raised:
        makers.take(assistant, room_c=70)
    assert doubts_of(raised) == {"room_c": "70 °C would be 158.0 °F. Did you mean 70 °F (21.1 °C)?"}
    assert not Reading.objects.exists()


def test_21_typed_as_fahrenheit_is_asked_about_in_the_readers_units(assistant: Person) -> None:
    assistant.temperature_unit = "degF"
    with pytest.raises(Doubtful) as raised:
        makers.take(assistant, room_c=(21 - 32) / 1.8)
    assert "Did you mean 21 °C (69.8 °F)?" in doubts_of(raised)["room_c"]


def test_half_an_ampere_typed_as_milliamperes_is_asked_about(assistant: Person) -> None:
    with pytest.raises(Doubtful) as raised:
        makers.take(assistant, heater_ma=0.5)
    assert "Did you mean 0.5 A (500 mA)?" in doubts_of(raised)["heater_ma"]


@pytest.mark.parametrize(
    ("kind", "typed", "words"),
    [
        ("chip_kpa", "25 inHg", "That looks wrong. Did you mean 25 kPa (7.4 inHg)?"),
        ("chip_kpa", "80 inHg", "It cannot be above 105.0 kPa. Did you mean 80 mbar (2.4 inHg)?"),
        ("heater_ma", "0.5", "That looks wrong. Did you mean 0.5 A (500 mA)?"),
        ("room_rh", "4", "4 % looks wrong. It is mostly between 15 % and 85 %. Read it again."),
        ("room_rh", "104", "That is always between 0 and 100 %."),
    ],
)
def test_a_sentence_names_the_number_typed_and_not_the_reading_twice(
    assistant: Person, client_of: Callable, kind: str, typed: str, words: str
) -> None:
    answer = press(client_of(assistant), **{kind: typed})
    name = ReadingKind(kind).label
    page = answer.content.decode().replace("\u00a0", " ")
    assert f">{name}: {words}" in page
    (sentence,) = answer.context["form"].errors[kind]
    assert name.lower() not in sentence.lower()


def test_what_was_confirmed_is_kept_but_another_value_is_asked_about_again(assistant: Person) -> None:
    with pytest.raises(Doubtful) as raised:
        makers.take(assistant, room_c=38)
    keys = tuple(doubt.key for doubt in raised.value.doubts)
    with pytest.raises(Doubtful):
        makers.take(assistant, room_c=48, sure=keys)
    assert makers.take(assistant, room_c=38, sure=keys).value == 38


def test_a_jump_since_the_reading_before_is_asked_about(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.take(assistant, hold_down_kpa=42)
    with at("2025-03-04 08:10"), pytest.raises(Doubtful) as raised:
        makers.take(assistant, hold_down_kpa=12)
    assert "yesterday at 08:10" in doubts_of(raised)["hold_down_kpa"]
    with at("2025-03-20 08:10"):
        assert makers.take(assistant, hold_down_kpa=12).value == 12


def test_a_gauge_above_the_service_pressure_is_asked_about(assistant: Person) -> None:
    makers.connected_cylinder(assistant)
    with pytest.raises(Doubtful, match="service pressure"):
        makers.take(assistant, nitrogen_bar=230, room_c=20)


def test_a_full_cylinder_in_a_warm_room_may_show_more_than_its_service_pressure(assistant: Person) -> None:
    """200 bar g at 15 °C is 204.99 at 20 °C and 209.97 at 25 °C (check values, computed with CoolProp)."""
    makers.connected_cylinder(assistant)
    assert makers.take(assistant, nitrogen_bar=204.5, room_c=20).value == 204.5
    with pytest.raises(Doubtful, match="service pressure"):
        makers.take(assistant, nitrogen_bar=211, room_c=25)


def test_a_gauge_that_rises_without_a_change_of_cylinder_is_asked_about(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        makers.take(assistant, nitrogen_bar=198, room_c=15)
    with at("2025-03-04 08:10"):
        makers.take_anyway(assistant, nitrogen_bar=175, room_c=15)
    with at("2025-03-04 09:10"), pytest.raises(Doubtful) as raised:
        makers.take(assistant, nitrogen_bar=190, room_c=15)
    assert "does not rise by itself" in doubts_of(raised)["nitrogen_bar"]


def test_what_warming_explains_is_not_asked_about(assistant: Person, at: Callable) -> None:
    """From 15 to 30 °C a cylinder at 200 bar rises to 214.94 (check values): from 180 by some 13."""
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        makers.take(assistant, nitrogen_bar=180, room_c=15)
    with at("2025-03-04 08:10"):
        with pytest.raises(Doubtful, match=r"warming to 30\.0.°C explains 19[23]"):
            makers.take(assistant, nitrogen_bar=199, room_c=30, sure=("room_c:jumped:30",))
        assert makers.take(assistant, nitrogen_bar=193, room_c=30, sure=("room_c:jumped:30",)).value == 193


def test_a_new_cylinder_may_show_more_than_the_old_one_did(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        old = makers.connected_cylinder(assistant, "N-1")
        makers.take_anyway(assistant, nitrogen_bar=12, room_c=20)
    with at("2025-03-03 09:00"):
        makers.empty_cylinder(assistant, old, sure=("at:not-empty:12",))
        makers.connected_cylinder(assistant, "N-2")
        assert makers.take(assistant, nitrogen_bar=203, room_c=20).cylinder.mark == "N-2"


def test_a_gauge_that_fell_too_far_is_asked_about_with_the_likely_unit(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        makers.take(assistant, nitrogen_bar=185, room_c=20)
    with at("2025-03-04 08:10"), pytest.raises(Doubtful) as raised:
        makers.take(assistant, nitrogen_bar=units.to_stored("pressure", 170, "psi"), room_c=20)
    assert "look for a leak" in doubts_of(raised)["nitrogen_bar"]
    assert "Did you mean 170 bar" in doubts_of(raised)["nitrogen_bar"]


def test_a_gauge_that_should_have_fallen_with_the_cold_is_asked_about_with_what_the_cold_leaves(
    assistant: Person, at: Callable
) -> None:
    """From 30 to 15 °C the warming of the check values backwards: 193 leaves some 180."""
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        makers.take(assistant, nitrogen_bar=193, room_c=30)
    with at("2025-03-04 08:10"), pytest.raises(Doubtful) as raised:
        makers.take(assistant, nitrogen_bar=188, room_c=15, sure=("room_c:jumped:15",))
    asked = doubts_of(raised)["nitrogen_bar"]
    assert "Cooling from 30.0 °C to 15.0 °C leaves 180 bar of that, and 188 bar is more" in asked
    assert "rise by itself to" not in asked


def test_a_gauge_that_fell_says_what_the_temperature_has_to_do_with_it(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        makers.take(assistant, nitrogen_bar=193, room_c=30)
    with at("2025-03-04 08:10"), pytest.raises(Doubtful) as raised:
        makers.take(assistant, nitrogen_bar=60, room_c=15, sure=("room_c:jumped:15",))
    assert "(193 bar; with the same gas in it 180 bar at 15.0 °C)" in doubts_of(raised)["nitrogen_bar"]


def test_every_doubt_is_asked_at_once(assistant: Person) -> None:
    makers.connected_cylinder(assistant)
    with pytest.raises(Doubtful) as raised:
        makers.take(assistant, nitrogen_bar=240, hold_down_kpa=1, room_rh=4)
    assert set(doubts_of(raised)) == {"nitrogen_bar", "hold_down_kpa", "room_rh"}


def test_a_gauge_is_not_judged_by_a_temperature_that_is_itself_in_doubt(assistant: Person) -> None:
    makers.connected_cylinder(assistant)
    with pytest.raises(Doubtful) as raised:
        makers.take(assistant, nitrogen_bar=240, room_c=38, room_rh=4)
    assert set(doubts_of(raised)) == {"room_c", "room_rh"}
    with pytest.raises(Doubtful) as raised:
        makers.take(
            assistant, nitrogen_bar=240, room_c=38, room_rh=4, sure=("room_c:unlikely:38", "room_rh:unlikely:4")
        )
    assert set(doubts_of(raised)) == {"nitrogen_bar"}


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ("2020-03-03 08:00", "Room humidity was read after that already, today at 08:10"),
        ("2025-03-03 08:00", "Was it read today at 08:00, as typed?"),
    ],
)
def test_a_moment_before_the_last_reading_of_that_kind_is_asked_about(
    assistant: Person, at: Callable, when: str, words: str
) -> None:
    with at("2025-03-03 08:10"):
        makers.take(assistant, room_rh=45)
        with pytest.raises(Doubtful) as raised:
            makers.take(assistant, room_rh=46, chip_kpa=12, at=moment(when))
        assert words in doubts_of(raised)["at"]
        keys = tuple(doubt.key for doubt in raised.value.doubts)
        assert makers.take(assistant, room_rh=46, chip_kpa=12, at=moment(when), sure=keys)
        assert makers.take(assistant, heater_ma=480, at=moment("2025-03-03 07:00"))


def test_a_moment_long_gone_by_is_asked_about_though_nothing_was_read_since(assistant: Person, at: Callable) -> None:
    with at("2025-03-10 08:10"):
        assert makers.take(assistant, room_rh=45, at=moment("2025-03-07 09:00"))
        with pytest.raises(Doubtful) as raised:
            makers.take(assistant, room_c=21, at=moment("2020-03-03 08:00"))
        asked = doubts_of(raised)["at"]
        assert asked == "That is 1833 days ago. Was it read on 3 Mar 2020 at 08:00, as typed?"
        with pytest.raises(Refused, match="before 1970"):
            makers.take(assistant, room_c=21, at=moment("1969-03-03 08:00"))


def test_another_cylinders_later_gauge_says_nothing_about_the_moment(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:00"):
        first = makers.connected_cylinder(assistant, "N-1")
    with at("2025-03-04 08:00"):
        makers.empty_cylinder(assistant, first, sure=("at:not-empty:200",))
        makers.connected_cylinder(assistant, "N-2")
    with at("2025-03-04 09:00"):
        makers.take(assistant, nitrogen_bar=198)
        assert makers.take(assistant, nitrogen_bar=190, at=moment("2025-03-03 09:00")).cylinder == first


# The page -------------------------------------------------------------------------------------------------------------


def press(client: Client, **typed: str) -> object:
    return client.post(PAGE, {"once": str(uuid4()), **typed})


def test_the_page_keeps_what_was_typed_in_the_persons_units(assistant: Person, client_of: Callable) -> None:
    assistant.temperature_unit, assistant.pressure_unit = "degF", "psi"
    assistant.save()
    makers.connected_cylinder(assistant)
    answer = press(client_of(assistant), room_c="70,7", room_rh="45 %", nitrogen_bar="2 790", heater_ma="0.5 A")
    assert answer.status_code == 302
    kept = dict(Reading.objects.values_list("kind", "value"))
    assert kept["room_c"] == pytest.approx(21.5)
    assert kept["room_rh"] == 45
    assert kept["nitrogen_bar"] == pytest.approx(192.36, abs=0.01)
    assert kept["heater_ma"] == pytest.approx(500)


def test_the_value_before_stands_under_each_box(assistant: Person, client_of: Callable, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.take(assistant, room_c=20.5, room_rh=44)
    with at("2025-03-04 08:10"):
        makers.take(assistant, room_c=21.5)
    with at("2025-03-04 15:12"):
        page = client_of(assistant).get(PAGE).content.decode()
    assert "Today at 08:10: 21.5\u00a0°C" in page
    assert "20.5\u00a0°C" not in page
    assert "Yesterday at 08:10: 44\u00a0%" in page
    assert "No reading before this one." in page


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"room_rh": "101"}, "room_rh", "between 0 and 100"),
        ({"room_c": "warm"}, "room_c", "is not a number"),
        ({"room_c": "9" * 30}, "room_c", "too large"),
        ({"room_c": "1" + "0" * 60}, "room_c", "too long"),
        ({"heater_ma": "1,234"}, "heater_ma", "Write it that way"),
        ({"nitrogen_bar": "1.460 psi"}, "nitrogen_bar", "Is “1.460” 1460, or 1.46? Write it that way."),
        ({"heater_ma": "48<b>0</b>"}, "heater_ma", "is not"),
        ({"room_c": "70"}, "room_c", "Did you mean 70 °F"),
        ({"chip_kpa": "12 A"}, "chip_kpa", "is not a unit for this"),
        ({"room_c": "21", "at": "2099-01-01T08:00"}, "at", "future"),
        ({"room_c": "21", "at": "yesterday"}, "at", "not a time"),
    ],
)
def test_bad_input_gets_a_sentence_at_the_field_and_keeps_what_was_typed(
    assistant: Person, client_of: Callable, typed: dict, field: str, words: str
) -> None:
    answer = press(client_of(assistant), hold_down_kpa="41.5", **typed)
    assert answer.status_code == 422
    form = answer.context["form"]
    assert any(words in sentence for sentence in form.errors[field]), form.errors
    page = answer.content.decode()
    assert "<title>Error:" in page
    assert 'value="41.5"' in page
    assert "<b>0</b>" not in page
    assert not Reading.objects.exists()


def test_a_doubt_is_a_tick_and_ticking_it_keeps_the_reading(assistant: Person, client_of: Callable) -> None:
    client = client_of(assistant)
    asked = press(client, room_c="38")
    key = asked.context["form"].doubts[0].key
    assert f'value="{key}"' in asked.content.decode()
    assert press(client, room_c="38", sure=key).status_code == 302
    assert Reading.objects.get().value == 38


def test_the_same_form_posted_twice_makes_one_record(assistant: Person, client_of: Callable) -> None:
    client, token = client_of(assistant), str(uuid4())
    for _ in range(2):
        assert client.post(PAGE, {"once": token, "room_c": "21"}).status_code == 302
    assert Reading.objects.count() == 1
    other = client.post(PAGE, {"once": token, "room_c": "22"})
    assert other.status_code == 409
    assert Reading.objects.count() == 1


@pytest.mark.parametrize("once", ["", "not-a-token"])
def test_a_missing_token_keeps_what_was_typed_and_writes_nothing(
    assistant: Person, client_of: Callable, once: str
) -> None:
    answer = client_of(assistant).post(PAGE, {"once": once, "room_c": "21.5"})
    assert answer.status_code == 422
    assert 'value="21.5"' in answer.content.decode()
    assert not Reading.objects.exists()


def test_a_stolen_token_is_a_page_of_its_own(assistant: Person, engineer: Person, client_of: Callable) -> None:
    token = str(uuid4())
    client_of(assistant).post(PAGE, {"once": token, "room_c": "21"})
    assert client_of(engineer).post(PAGE, {"once": token, "room_c": "21"}).status_code == 409
    assert Reading.objects.count() == 1


def test_wrong_method_stranger_and_visitor(assistant: Person, visitor: Person, client_of: Callable) -> None:
    assert client_of(assistant).delete(PAGE).status_code == 405
    assert Client().get(PAGE).status_code == 302
    assert Client().post(PAGE, {"room_c": "21"}).status_code == 302
    assert client_of(visitor).post(PAGE, {"once": str(uuid4()), "room_c": "21"}).status_code == 403
    assert client_of(visitor).get(PAGE).status_code == 403
    assert not Reading.objects.exists()


def test_a_gauge_below_what_was_read_after_it_is_asked_about(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:00"):
        makers.connected_cylinder(assistant)
        makers.take(assistant, nitrogen_bar=180.0)
    with at("2025-03-03 12:00"):
        makers.take(assistant, nitrogen_bar=178.0)
        earlier = moment("2025-03-03 10:00")
        with pytest.raises(Doubtful) as asked:
            makers.take(assistant, at=earlier, nitrogen_bar=165.0)
        (more,) = (doubt for doubt in asked.value.doubts if doubt.field == "nitrogen_bar")
        assert more.key == "nitrogen_bar:more-later:165"
        assert "less than the gauge showed after that: 178" in more.sentence
        with pytest.raises(Doubtful) as asked:
            makers.take(assistant, at=earlier, nitrogen_bar=179.0)
        assert [doubt.field for doubt in asked.value.doubts] == ["at"]


def test_a_gauge_read_before_the_cylinder_was_changed_is_told_with_its_cylinder(
    assistant: Person, at: Callable, client: Client
) -> None:
    client.force_login(assistant)
    with at("2025-03-03 08:00"):
        first = makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=9.0)
        assert "off by now" not in client.get(PAGE).content.decode()
    with at("2025-03-03 09:00"):
        makers.empty_cylinder(assistant, first)
        makers.connected_cylinder(assistant, "N-18")
        text = client.get(PAGE).content.decode().replace("\u00a0", " ")
        assert "Today at 08:00: 9 bar, on cylinder N-17, which is off by now" in text
        makers.take(assistant, nitrogen_bar=200.0)
        assert "off by now" not in client.get(PAGE).content.decode()
