"""What the room worries about."""

from collections.abc import Callable

import pytest

from shop import clock, concern
from shop.concern import Concern, Grade
from shop.people.models import Person, Room
from shop.room.concerns import concerns
from shop.room.models import GasUse
from tests.room import makers

pytestmark = pytest.mark.django_db


def found() -> dict[str, Concern]:
    return {one.key: one for one in concerns(clock.now())}


def with_gas(person: Person) -> None:
    """Gas that raises nothing: one connected, one behind it."""
    makers.connected_cylinder(person, "N-1")
    makers.add_cylinder(person, "N-2")


def test_the_room_has_registered_its_question(room_row: Room) -> None:
    assert "room:gas:none" in {one.key for one in concern.gather(clock.now())}


def test_a_room_in_order_worries_about_nothing(assistant: Person) -> None:
    with_gas(assistant)
    makers.set_limit("room_rh", care_below=35, care_above=60)
    makers.take(assistant, room_rh=45)
    assert found() == {}


@pytest.mark.parametrize(
    ("value", "grade", "words"),
    [
        (62, Grade.CARE, "care above 60\u00a0%"),
        (76, Grade.HOLD, "hold above 75\u00a0%"),
        (30, Grade.CARE, "care below 35\u00a0%"),
        (18, Grade.HOLD, "hold below 20\u00a0%"),
    ],
)
def test_a_reading_of_today_outside_the_limits(
    assistant: Person, at: Callable, value: float, grade: Grade, words: str
) -> None:
    makers.set_limit("room_rh", hold_below=20, care_below=35, care_above=60, hold_above=75, what_to_do="Watch it.")
    with at("2025-03-03 08:10"):
        with_gas(assistant)
        makers.take(assistant, room_rh=value)
        one = found()["room:limit:room_rh"]
    assert one.grade == grade
    assert f"Read today at 08:10: {value}\u00a0%" in one.reason
    assert words in one.reason
    assert one.what_to_do == "Watch it."
    assert one.link == "/room/readings/room_rh/"


@pytest.mark.parametrize("value", [35, 60])
def test_the_limit_itself_is_inside(assistant: Person, value: float) -> None:
    with_gas(assistant)
    makers.set_limit("room_rh", care_below=35, care_above=60)
    makers.take(assistant, room_rh=value)
    assert found() == {}


def test_a_reading_of_yesterday_alarms_nobody(assistant: Person, at: Callable) -> None:
    makers.set_limit("room_rh", care_above=60)
    with at("2025-03-03 23:50"):
        with_gas(assistant)
        makers.take(assistant, room_rh=70)
        assert "room:limit:room_rh" in found()
    with at("2025-03-04 00:10"):
        assert found() == {}


def test_the_rooms_own_units_are_spoken(assistant: Person) -> None:
    Room.objects.update(temperature_unit="degF")
    with_gas(assistant)
    makers.set_limit("room_c", care_above=25)
    makers.take(assistant, room_c=27)
    reason = found()["room:limit:room_c"].reason
    assert "80.6\u00a0°F" in reason
    assert "care above 77.0\u00a0°F" in reason


def test_the_dew_point_has_a_limit_of_its_own(assistant: Person) -> None:
    """21 °C and 50 % make 10.18 °C (check values: Magnus over water, WMO-No. 8)."""
    with_gas(assistant)
    makers.set_limit("dew_point_c", care_above=10)
    makers.take(assistant, room_c=21, room_rh=50)
    one = found()["room:limit:dew_point_c"]
    assert one.grade == Grade.CARE
    assert "10.2\u00a0°C" in one.reason


def test_air_without_water_has_no_dew_point_and_no_fault(assistant: Person) -> None:
    with_gas(assistant)
    makers.set_limit("dew_point_c", care_above=10)
    makers.take_anyway(assistant, room_c=21, room_rh=0)
    assert found() == {}


# Gas ------------------------------------------------------------------------------------------------------------------


def test_no_cylinder_is_a_hold_and_names_the_spare(assistant: Person) -> None:
    assert found()["room:gas:none"].grade == Grade.HOLD
    makers.add_cylinder(assistant, "N-2")
    one = found()["room:gas:none"]
    assert one.what_to_do == "Connect cylinder N-2."
    assert "N-2 stands ready" in one.reason


def test_below_the_reserve_is_a_hold_until_it_is_changed(assistant: Person, at: Callable) -> None:
    GasUse.objects.create(pk=1, reserve_bar=15)
    with at("2025-03-03 08:10"):
        with_gas(assistant)
        makers.take_anyway(assistant, nitrogen_bar=14, room_c=20)
    with at("2025-03-05 08:10"):
        (one,) = found().values()
    assert one.grade == Grade.HOLD
    assert one.headline == "Cylinder N-1 is below the shop's reserve"
    assert one.what_to_do == "Change to cylinder N-2."


def test_running_low_is_a_note_with_a_spare_and_a_care_without(assistant: Person) -> None:
    GasUse.objects.create(pk=1, low_share=0.3, side_g=100)
    makers.connected_cylinder(assistant, "N-1")
    makers.take_anyway(assistant, nitrogen_bar=50, room_c=20)
    (one,) = found().values()
    assert one.grade == Grade.CARE
    assert "No full cylinder stands ready" in one.reason
    makers.add_cylinder(assistant, "N-2")
    (one,) = found().values()
    assert one.grade == Grade.NOTE
    assert "about 23 sides above the reserve" in one.reason
    assert one.what_to_do == "Have ready cylinder N-2."


def test_no_spare_is_a_note_while_there_is_much(assistant: Person) -> None:
    makers.connected_cylinder(assistant, "N-1")
    (one,) = found().values()
    assert (one.key, one.grade) == ("room:gas:no-spare", Grade.NOTE)
    assert one.reason == "Cylinder N-1 is in use; its gauge was not read yet."
    makers.take(assistant, nitrogen_bar=198, room_c=15)
    (one,) = found().values()
    assert "of the gas is left" in one.reason


def test_an_empty_one_that_waits_is_a_note(assistant: Person) -> None:
    first = makers.connected_cylinder(assistant, "N-0")
    makers.empty_cylinder(assistant, first, sure=("at:not-empty:200",))
    with_gas(assistant)
    (one,) = found().values()
    assert (one.key, one.grade) == ("room:gas:empties", Grade.NOTE)
    assert "N-0" in one.reason


def test_each_reads_it_in_their_own_units(
    assistant: Person, engineer: Person, client_of: Callable, at: Callable
) -> None:
    engineer.pressure_unit, engineer.temperature_unit = "psi", "degF"
    engineer.save()
    GasUse.objects.create(pk=1, reserve_bar=15)
    makers.set_limit("room_c", care_above=25)
    makers.set_limit("dew_point_c", care_above=10)
    with at("2025-03-03 08:10"):
        with_gas(assistant)
        makers.take_anyway(assistant, nitrogen_bar=14, room_c=27, room_rh=50)
        texts = {person.sign_in: client_of(person).get("/").content.decode() for person in (assistant, engineer)}
    said = {name: text.replace("\u00a0", " ").split('id="booked"')[0] for name, text in texts.items()}
    for words in ("The gauge shows 14 bar; the shop changes at 15 bar.", "27.0 °C. The shop", "care above 25.0 °C"):
        assert words in said["pellow"], words
    for words in ("shows 203 psi; the shop changes at 218 psi", "80.6 °F. The shop", "Reckoned from 80.6 °F"):
        assert words in said["maarsk"], words
    assert " bar" not in said["maarsk"]
    assert "°C" not in said["maarsk"]
