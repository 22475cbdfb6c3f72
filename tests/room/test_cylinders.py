"""The round of a cylinder: added, connected, empty, returned."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from shop.people.models import Person
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.room import actions, queries
from shop.room.models import Cylinder
from tests.carrying.files import lines
from tests.makers import moment, together
from tests.room import makers

pytestmark = pytest.mark.django_db


# Adding ---------------------------------------------------------------------------------------------------------------


def test_a_cylinder_is_added_full(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        added = makers.add_cylinder(assistant, "  N 17 ")
    assert (added.mark, added.state, added.delivered_on) == ("N 17", "full", date(2025, 3, 3))
    assert queries.cylinder_rack().spares == [added]


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"mark": " "}, "mark", "Give the mark"),
        ({"water_volume_l": 0}, "water_volume_l", "stamped on the shoulder"),
        ({"service_bar": 0}, "service_bar", "above nought"),
        ({"fill_bar": 0}, "fill_bar", "above nought"),
        ({"delivered_on": date(2099, 1, 1)}, "delivered_on", "future"),
        ({"gas": "other"}, "gas", "Only the label"),
        ({"stamp": "13-19"}, "stamp", "no month 13"),
        ({"test_years": 10}, "stamp", "month and year"),
        ({"stamp": "06-19", "test_years": 31}, "test_years", "between 1 and 30"),
        ({"rent_month": Decimal(-1)}, "rent_month", "below nought"),
        ({"owner": "x" * 81}, "owner", "80 characters"),
    ],
)
def test_what_is_refused(assistant: Person, given: dict, field: str, words: str) -> None:
    with pytest.raises(Refused, match=words) as raised:
        makers.add_cylinder(assistant, **given)
    assert raised.value.field == field
    assert not Cylinder.objects.exists()


def test_a_mark_is_used_once_whatever_its_letters(assistant: Person) -> None:
    makers.add_cylinder(assistant, "N-17")
    with pytest.raises(Refused, match="already") as raised:
        makers.add_cylinder(assistant, "n-17")
    assert raised.value.field == "mark"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"water_volume_l": 9600.0}, "water_volume_l"),
        ({"service_bar": 2900.0}, "service_bar"),
        ({"fill_bar": 230.0}, "fill_bar"),
    ],
)
def test_what_is_asked_about(assistant: Person, given: dict, field: str) -> None:
    with pytest.raises(Doubtful) as raised:
        makers.add_cylinder(assistant, **given)
    assert [doubt.field for doubt in raised.value.doubts] == [field]


# Connecting -----------------------------------------------------------------------------------------------------------


def test_connecting_while_another_is_connected_names_it(assistant: Person) -> None:
    makers.connected_cylinder(assistant, "N-1")
    second = makers.add_cylinder(assistant, "N-2")
    with pytest.raises(Refused, match=r"Cylinder N-1 is connected\. Mark it empty first"):
        makers.connect_cylinder(assistant, second)
    assert queries.connected_cylinder().mark == "N-1"


def test_the_database_itself_holds_one_connected(assistant: Person, at: Callable) -> None:
    first, second = makers.connected_cylinder(assistant, "N-1"), makers.add_cylinder(assistant, "N-2")
    with pytest.raises(IntegrityError), transaction.atomic():
        Cylinder.objects.filter(pk=second.pk).update(connected_at=first.connected_at)


@pytest.mark.django_db(transaction=True)
def test_two_people_connect_two_cylinders_at_the_same_moment(assistant: Person, engineer: Person) -> None:
    first, second = makers.add_cylinder(assistant, "N-1"), makers.add_cylinder(assistant, "N-2")
    came = together(
        lambda: makers.connect_cylinder(assistant, first), lambda: makers.connect_cylinder(engineer, second)
    )
    assert sorted(type(one).__name__ for one in came) == ["Cylinder", "Refused"]
    assert [one.state for one in Cylinder.objects.all()].count("connected") == 1


def test_times_of_connecting_follow_one_another(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        first = makers.connected_cylinder(assistant, "N-1")
    with at("2025-03-10 08:10"):
        second = makers.add_cylinder(assistant, "N-2")
        makers.empty_cylinder(assistant, first, sure=("at:not-empty:200",))
        for when, words in (
            ("2025-03-10 08:11", "future"),
            ("2025-03-10 08:00", "N-1 still fed"),
        ):
            with pytest.raises(Refused, match=words) as raised:
                makers.connect_cylinder(assistant, second, moment(when))
            assert raised.value.field == "at"
        assert makers.connect_cylinder(assistant, second).connected_at == moment("2025-03-10 08:10")
        with pytest.raises(Refused, match="N-1 is marked empty"):
            makers.connect_cylinder(assistant, first)
        with pytest.raises(Refused, match="N-2 is connected already"):
            makers.connect_cylinder(assistant, second)


def test_one_cannot_be_connected_before_it_came(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"), pytest.raises(Refused, match="not here then"):
        makers.connect_cylinder(assistant, makers.add_cylinder(assistant), moment("2025-03-02 23:00"))


# Emptying and returning -----------------------------------------------------------------------------------------------


def test_marking_one_empty_that_holds_much_is_asked_about(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        cylinder = makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=100, room_c=20)
    with at("2025-03-03 09:00"):
        with pytest.raises(Doubtful, match=r"stood at 100.bar today at 08:10: about 5[0-9].% of the gas"):
            makers.empty_cylinder(assistant, cylinder)
        assert makers.empty_cylinder(assistant, cylinder, sure=("at:not-empty:100",)).state == "empty"
    assert queries.connected_cylinder() is None


def test_one_that_was_never_read_is_asked_about_without_a_share(assistant: Person) -> None:
    cylinder = makers.connected_cylinder(assistant)
    with pytest.raises(Doubtful) as asked:
        makers.empty_cylinder(assistant, cylinder)
    assert str(asked.value) == "Its gauge was not read since it came full. Mark it empty all the same?"


def test_one_at_its_reserve_is_marked_empty_without_a_question(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        cylinder = makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=9, room_c=20)
    with at("2025-03-03 09:00"):
        assert makers.empty_cylinder(assistant, cylinder).state == "empty"


def test_when_it_cannot_have_been_emptied(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        cylinder = makers.connected_cylinder(assistant)
        spare = makers.add_cylinder(assistant, "N-2")
        with pytest.raises(Refused, match="N-2 is not connected"):
            makers.empty_cylinder(assistant, spare)
    with at("2025-03-05 08:10"):
        makers.take_anyway(assistant, nitrogen_bar=5, room_c=20)
        for when, words in (
            ("2025-03-05 09:00", "future"),
            ("2025-03-03 08:00", "not connected then"),
            ("2025-03-04 08:00", "gauge was read"),
        ):
            with pytest.raises(Refused, match=words) as raised:
                makers.empty_cylinder(assistant, cylinder, moment(when))
            assert raised.value.field == "at"


def test_returning(assistant: Person, at: Callable) -> None:
    def give_back(cylinder: Cylinder, **typed: object) -> Cylinder:
        return actions.return_cylinder(by=assistant, once=uuid4(), cylinder=cylinder, **typed)

    with at("2025-03-03 08:10"):
        used, spare = makers.connected_cylinder(assistant, "N-1"), makers.add_cylinder(assistant, "N-2")
        with pytest.raises(Refused, match="N-1 is connected"):
            give_back(used)
    with at("2025-03-10 08:10"):
        makers.empty_cylinder(assistant, used, sure=("at:not-empty:200",))
        with pytest.raises(Refused, match="future"):
            give_back(used, on=date(2025, 3, 11))
        with pytest.raises(Refused, match="still in use"):
            give_back(used, on=date(2025, 3, 9))
        assert give_back(used).returned_on == date(2025, 3, 10)
        with pytest.raises(Refused, match="returned already"):
            give_back(used)
        with pytest.raises(Doubtful, match="never connected"):
            give_back(spare)
        assert give_back(spare, sure=("on:still-full",)).state == "returned"
    assert queries.cylinder_rack() == queries.CylinderRack(connected=None, spares=[], empties=[])


# The pages ------------------------------------------------------------------------------------------------------------

TYPED = {
    "mark": "N-17",
    "gas": "nitrogen",
    "water_volume_l": "50",
    "service_bar": "200",
    "fill_bar": "200",
    "fill_c": "15",
}


def test_adding_by_the_page_in_the_persons_units(assistant: Person, client_of: Callable) -> None:
    assistant.pressure_unit, assistant.temperature_unit = "psi", "degF"
    assistant.save()
    typed = {
        "mark": "<b>N</b>",
        "gas": "nitrogen",
        "water_volume_l": "49,0",
        "service_bar": "2640",
        "fill_bar": "2640",
        "fill_c": "70",
    }
    client = client_of(assistant)
    assert client.post("/room/cylinders/add/", {"once": str(uuid4()), **typed}).status_code == 302
    added = Cylinder.objects.get()
    assert (added.fill_bar, added.fill_c) == (pytest.approx(182.02, abs=0.01), pytest.approx(21.11, abs=0.01))
    for page in ("/room/cylinders/", f"/room/cylinders/{added.pk}/", "/room/"):
        text = client.get(page).content.decode()
        assert "<b>N</b>" not in text
    assert "2640\u00a0psi" in client.get(f"/room/cylinders/{added.pk}/").content.decode()


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"water_volume_l": ""}, "water_volume_l", "Fill this in"),
        ({"water_volume_l": "0"}, "water_volume_l", "stamped on the shoulder"),
        ({"water_volume_l": "fifty"}, "water_volume_l", "is not a number"),
        ({"service_bar": "9" * 12}, "service_bar", "above"),
        (
            {"fill_c": "70"},
            "fill_c",
            "That is above 65.0\u00a0°C. 70 °C would be 158.0\u00a0°F. Did you mean 70 °F (21.1",
        ),
        ({"fill_c": "500"}, "fill_c", "That is above 65.0\u00a0°C."),
        ({"delivered_on": "2099-01-01"}, "delivered_on", "future"),
    ],
)
def test_bad_input_keeps_what_was_typed(
    assistant: Person, client_of: Callable, typed: dict, field: str, words: str
) -> None:
    answer = client_of(assistant).post("/room/cylinders/add/", {"once": str(uuid4()), **TYPED, **typed})
    assert answer.status_code == 422
    assert any(words in sentence for sentence in answer.context["form"].errors[field]), answer.context["form"].errors
    assert 'value="N-17"' in answer.content.decode()
    assert not Cylinder.objects.exists()


def test_the_round_by_its_pages(assistant: Person, client_of: Callable) -> None:
    client = client_of(assistant)
    add = {"once": str(uuid4()), **TYPED}
    for _ in range(2):
        assert client.post("/room/cylinders/add/", add).status_code == 302
    one = Cylinder.objects.get()
    base = f"/room/cylinders/{one.pk}/"
    connect = {"once": str(uuid4())}
    for _ in range(2):
        assert client.post(f"{base}connect/", connect).status_code == 302
    asked = client.post(f"{base}empty/", {"once": str(uuid4())})
    assert asked.status_code == 422
    key = asked.context["form"].doubts[0].key
    assert client.post(f"{base}empty/", {"once": str(uuid4()), "sure": key}).status_code == 302
    assert client.post(f"{base}return/", {"once": str(uuid4())}).status_code == 302
    one.refresh_from_db()
    assert one.state == "returned"
    assert "N-17" in client.get("/room/cylinders/").content.decode()


def test_wrong_method_stranger_and_visitor(assistant: Person, visitor: Person, client_of: Callable) -> None:
    one = makers.add_cylinder(assistant)
    looker = client_of(visitor)
    for page in ("add/", f"{one.pk}/connect/", f"{one.pk}/empty/", f"{one.pk}/return/"):
        address = f"/room/cylinders/{page}"
        assert client_of(assistant).put(address).status_code == 405
        assert Client().post(address, {"once": str(uuid4())}).status_code == 302
        assert looker.post(address, {"once": str(uuid4()), **TYPED}).status_code == 403
    for page in ("/room/cylinders/", f"/room/cylinders/{one.pk}/"):
        shown = looker.get(page)
        assert shown.status_code == 200
        assert "/connect/" not in shown.content.decode()
        assert Client().get(page).status_code == 302
        assert client_of(assistant).post(page).status_code == 405
    one.refresh_from_db()
    assert one.state == "full"


@pytest.mark.parametrize("act", ["connect_cylinder", "empty_cylinder", "return_cylinder"])
def test_a_visitor_moves_none(assistant: Person, visitor: Person, act: str) -> None:
    with pytest.raises(NotAllowed):
        getattr(actions, act)(by=visitor, once=uuid4(), cylinder=makers.add_cylinder(assistant))


# What is known of one -------------------------------------------------------------------------------------------------


def change(by: Person, cylinder: Cylinder, *, version: int = 1, **known: Any) -> Cylinder:
    return actions.change_cylinder(by=by, once=uuid4(), cylinder=cylinder, version=version, **known)


def test_what_is_known_is_changed(assistant: Person) -> None:
    cylinder = makers.add_cylinder(assistant)
    changed = change(assistant, cylinder, owner="Northgate Gases", stamp="2019-06", test_years=5, note="Lent.")
    assert (changed.owner, changed.requalify_by, changed.note) == ("Northgate Gases", date(2024, 6, 1), "Lent.")
    assert changed.version == 2
    with pytest.raises(Changed):
        change(assistant, cylinder)
    with pytest.raises(Refused, match="stamped"):
        change(assistant, changed, version=2, stamp="June")


def test_a_stranger_and_a_visitor_change_nothing(assistant: Person, visitor: Person, client_of: Callable) -> None:
    cylinder = makers.add_cylinder(assistant)
    with pytest.raises(NotAllowed):
        change(visitor, cylinder)
    page = f"/room/cylinders/{cylinder.pk}/change/"
    assert Client().post(page).status_code == 302
    assert client_of(visitor).get(page).status_code == 403
    assert client_of(assistant).put(page).status_code == 405


def test_rent_is_for_engineers(
    assistant: Person, engineer: Person, visitor: Person, client_of: Callable[[Person], Client]
) -> None:
    cylinder = makers.add_cylinder(assistant, rent_month=Decimal("7.50"))
    page = f"/room/cylinders/{cylinder.pk}/change/"
    assert "rent_month" in client_of(engineer).get(page).content.decode()
    client = client_of(assistant)
    assert "rent_month" not in client.get(page).content.decode()
    pressed = {"once": str(uuid4()), "version": "1", "note": "x"}
    for _ in range(2):  # twice is once
        assert client.post(page, pressed).status_code == 302
    cylinder.refresh_from_db()
    assert (cylinder.rent_month, cylinder.note, cylinder.version) == (Decimal("7.50"), "x", 2)
    assert "7.50" in client_of(engineer).get(cylinder.get_absolute_url()).content.decode()
    assert "7.50" not in client_of(visitor).get(cylinder.get_absolute_url()).content.decode()
    (line,) = lines(client_of(engineer), "cylinders")
    assert line["Rent a month"] == "7.5"
    (line,) = lines(client_of(visitor), "cylinders")
    assert "Rent a month" not in line
