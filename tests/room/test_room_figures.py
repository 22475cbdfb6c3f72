"""The shop's own limits and its figures for gas."""

from collections.abc import Callable, Collection
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction
from django.test import Client

from shop.people.models import Person
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.room import actions, queries
from shop.room.models import GasUse, Limit, LimitKind
from tests.room import makers

pytestmark = pytest.mark.django_db

LIMIT = "/room/limits/room_c/"
GAS = "/room/gas-use/"


def change_limit(by: Person, version: int = 0, kind: LimitKind = LimitKind.ROOM_C, **limits: object) -> Limit:
    return actions.change_limit(by=by, once=uuid4(), kind=kind, version=version, **limits)


def test_limits_are_set_and_changed(engineer: Person) -> None:
    limit = change_limit(engineer, care_above=25.0)
    assert (limit.version, limit.care_above, limit.hold_above) == (1, 25, None)
    limit = change_limit(engineer, 1, care_above=26.0, hold_above=30.0, what_to_do=" Cool it. ")
    assert (limit.version, limit.care_above, limit.hold_above, limit.what_to_do) == (2, 26, 30, "Cool it.")


@pytest.mark.parametrize(
    ("limits", "field", "words"),
    [
        ({"care_below": 25.0, "care_above": 20.0}, "care_above", "must rise"),
        ({"hold_below": 25.0, "hold_above": 20.0}, "hold_above", "must rise"),
        ({"hold_above": 1000.0}, "hold_above", "is between"),
    ],
)
def test_limits_that_make_no_sense_are_refused(engineer: Person, limits: dict, field: str, words: str) -> None:
    with pytest.raises(Refused, match=words) as raised:
        change_limit(engineer, **limits)
    assert raised.value.field == field
    assert not Limit.objects.exists()


def test_the_database_holds_the_order_too() -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        makers.set_limit("room_c", care_below=25, care_above=20)


@pytest.mark.parametrize("stale", [0, 1])
def test_a_stale_save_writes_nothing(engineer: Person, stale: int) -> None:
    change_limit(engineer, care_above=25.0)
    change_limit(engineer, 1, care_above=26.0)
    with pytest.raises(Changed):
        change_limit(engineer, stale, care_above=27.0)
    assert Limit.objects.get().care_above == 26


def test_a_stale_page_shows_both_and_the_next_press_saves_over(engineer: Person, client_of: Callable) -> None:
    client = client_of(engineer)
    change_limit(engineer, care_above=25.0)
    change_limit(engineer, 1, care_above=26.0)
    token = str(uuid4())
    stale = client.post(LIMIT, {"once": token, "version": "1", "care_above": "27"})
    assert stale.status_code == 422
    page = stale.content.decode()
    assert "What is saved now" in page
    assert "26.0\u00a0°C" in page
    assert 'value="27"' in page
    assert 'name="version" value="2"' in page
    assert client.post(LIMIT, {"once": token, "version": "2", "care_above": "27"}).status_code == 302
    assert Limit.objects.get().care_above == 27


def test_limits_by_the_page_in_the_persons_units(engineer: Person, client_of: Callable) -> None:
    engineer.temperature_unit = "degF"
    engineer.save()
    client = client_of(engineer)
    typed = {"once": str(uuid4()), "version": "0", "care_above": "77", "hold_above": "86,0"}
    for _ in range(2):
        assert client.post(LIMIT, typed).status_code == 302
    limit = Limit.objects.get()
    assert (limit.care_above, limit.hold_above) == (pytest.approx(25), pytest.approx(30))
    assert "Care above 77.0\u00a0°F; hold above 86.0\u00a0°F." in client.get("/room/limits/").content.decode()
    bad = client.post(LIMIT, {"once": str(uuid4()), "version": "1", "care_above": "warm"})
    assert bad.status_code == 422
    assert "is not a number" in bad.context["form"].errors["care_above"][0]


def test_gas_figures(engineer: Person, client_of: Callable) -> None:
    assert queries.gas_use().version == 0
    client = client_of(engineer)
    typed = {"once": str(uuid4()), "version": "0", "side_g": "75", "reserve_bar": "12", "low_percent": "25"}
    typed["lead_days"] = "9"
    for _ in range(2):
        assert client.post(GAS, typed).status_code == 302
    use = GasUse.objects.get()
    assert (use.side_g, use.reserve_bar, use.low_share, use.lead_days, use.version) == (75, 12, 0.25, 9, 1)
    stale = client.post(GAS, {**typed, "once": str(uuid4()), "side_g": "80"})
    assert stale.status_code == 422
    assert "75.0\u00a0g" in stale.content.decode()
    assert client.post(GAS, {**typed, "once": str(uuid4()), "version": "1", "side_g": "80"}).status_code == 302
    assert GasUse.objects.get().side_g == 80


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"side_g": -1.0}, "side_g"),
        ({"reserve_bar": 900.0}, "reserve_bar"),
        ({"low_share": 2.0}, "low_share"),
        ({"lead_days": 400}, "lead_days"),
    ],
)
def test_gas_figures_that_make_no_sense_are_refused(engineer: Person, given: dict, field: str) -> None:
    sane = {"side_g": 60.0, "reserve_bar": 10.0, "low_share": 0.3}
    with pytest.raises(Refused) as raised:
        actions.change_gas_use(by=engineer, once=uuid4(), version=0, **{**sane, **given})
    assert raised.value.field == field
    assert not GasUse.objects.exists()


def test_only_engineers_set_them(assistant: Person, visitor: Person, client_of: Callable) -> None:
    with pytest.raises(NotAllowed):
        change_limit(assistant, care_above=25.0)
    with pytest.raises(NotAllowed):
        actions.change_gas_use(by=assistant, once=uuid4(), version=0, side_g=1.0, reserve_bar=1.0, low_share=0.1)
    for page in (LIMIT, GAS):
        for person in (assistant, visitor):
            assert client_of(person).get(page).status_code == 403
            assert client_of(person).post(page, {"once": str(uuid4()), "version": "0"}).status_code == 403
        assert Client().get(page).status_code == 302
    assert client_of(visitor).get("/room/limits/").status_code == 200
    assert LIMIT not in client_of(assistant).get("/room/limits/").content.decode()
    assert client_of(assistant).post("/room/limits/").status_code == 405


def test_wrong_method(engineer: Person, client_of: Callable) -> None:
    for page in (LIMIT, GAS):
        assert client_of(engineer).delete(page).status_code == 405
    assert client_of(engineer).get("/room/limits/nitrogen_bar/").status_code == 404


def test_the_starter_content_loads_and_covers_every_limit(engineer: Person, client_of: Callable) -> None:
    call_command("loaddata", "starter_room", verbosity=0)
    assert set(queries.limits()) == set(LimitKind)
    assert queries.gas_use().version == 1
    assert client_of(engineer).get("/room/limits/").status_code == 200


@pytest.mark.parametrize(
    ("reserve_bar", "says"), [(-1.0, "from nought"), (200.0, "N-17 is made for, 200"), (345.0, "N-17 is made for, 200")]
)
def test_a_reserve_that_no_cylinder_here_reaches_is_refused(engineer: Person, reserve_bar: float, says: str) -> None:
    makers.connected_cylinder(engineer)
    makers.add_cylinder(engineer, "N-300", service_bar=300.0, fill_bar=300.0)
    with pytest.raises(Refused, match=says) as raised:
        gas_use(engineer, reserve_bar)
    assert raised.value.field == "reserve_bar"
    assert not GasUse.objects.exists()


def test_a_reserve_of_more_than_half_is_asked_about(engineer: Person) -> None:
    with pytest.raises(Refused, match="300"):  # while none is here, what cylinders are mostly made for counts
        gas_use(engineer, 345.0)
    makers.connected_cylinder(engineer)
    engineer.pressure_unit = "psi"
    with pytest.raises(Doubtful, match="most of its gas would go back unused") as asked:
        gas_use(engineer, 150.0)
    (doubt,) = asked.value.doubts
    assert (doubt.field, "2901\u00a0psi" in doubt.sentence) == ("reserve_bar", True)
    assert gas_use(engineer, 150.0, sure=[doubt.key]).reserve_bar == 150
    assert gas_use(engineer, 10.0, version=1).reserve_bar == 10


def gas_use(by: Person, reserve_bar: float, *, version: int = 0, sure: Collection[str] = ()) -> GasUse:
    return actions.change_gas_use(
        by=by, once=uuid4(), version=version, side_g=60.0, reserve_bar=reserve_bar, low_share=0.3, sure=sure
    )
