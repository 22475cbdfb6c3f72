"""Instruments taken on, changed and revoked; their pages; and being missed."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.urls import reverse

from shop import clock, concern
from shop.concern import Grade
from shop.people.secrets import digest_of
from shop.press.models import Line
from shop.refusal import NotAllowed, Refused
from shop.room import actions
from shop.room.models import Instrument, Reading
from shop.room.wording import retold_reason
from tests.room import makers
from tests.room.instruments import SECRET, add_instrument, one, send


@pytest.fixture(autouse=True)
def fresh_pace():
    cache.clear()


@pytest.fixture
def thermometer(owner):
    return add_instrument(owner)


def worries():
    return [found for found in concern.gather(clock.now()) if found.key.startswith("room:instrument:")]


# Actions --------------------------------------------------------------------------------------------------------------


def test_only_a_digest_of_the_token_is_kept_and_the_record_does_not_hold_it(thermometer):
    assert thermometer.digest == digest_of(SECRET)
    line = Line.objects.latest("number")
    assert line.act == "room.add_instrument"
    assert SECRET not in str(line.said)


@pytest.mark.parametrize("who", ["engineer", "assistant", "visitor"])
def test_only_an_owner_takes_one_on_changes_or_revokes_it(thermometer, request, who):
    by = request.getfixturevalue(who)
    with pytest.raises(NotAllowed):
        add_instrument(by, "Another", secret="x" * 43)
    with pytest.raises(NotAllowed):
        actions.change_instrument(by=by, once=uuid4(), instrument=thermometer, version=1, name="Mine", kinds=["room_c"])
    with pytest.raises(NotAllowed):
        actions.revoke_instrument(by=by, once=uuid4(), instrument=thermometer)


def test_a_second_of_the_same_name_is_refused_until_the_first_is_revoked(thermometer, owner):
    with pytest.raises(Refused, match="Another instrument has that name"):
        add_instrument(owner, "THERMOMETER", secret="y" * 43)
    actions.revoke_instrument(by=owner, once=uuid4(), instrument=thermometer)
    again = add_instrument(owner, "Thermometer", secret="y" * 43)
    assert again.pk != thermometer.pk


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"kinds": []}, "kinds"),
        ({"kinds": ["colour"]}, "kinds"),
        ({"every_min": 0}, "every_min"),
        ({"name": " "}, "name"),
    ],
)
def test_what_is_refused_of_an_instrument(owner, given, field):
    with pytest.raises(Refused) as no:
        actions.add_instrument(
            by=owner, once=uuid4(), **{"secret": SECRET, "name": "Thermometer", "kinds": ["room_c"], **given}
        )
    assert no.value.field == field


def test_a_kind_taken_away_is_refused_from_then_on(thermometer, owner):
    actions.change_instrument(
        by=owner, once=uuid4(), instrument=thermometer, version=1, name="Thermometer", kinds=["room_rh"]
    )
    told = send([one()]).json()["results"][0]
    assert (told["code"], told["reason"]) == ("kind", "This instrument may not write room_c.")


def test_revoking_twice_is_refused(thermometer, owner):
    actions.revoke_instrument(by=owner, once=uuid4(), instrument=thermometer)
    with pytest.raises(Refused, match="revoked already"):
        actions.revoke_instrument(by=owner, once=uuid4(), instrument=thermometer)


# Pages ----------------------------------------------------------------------------------------------------------------


def test_the_token_is_shown_once_and_works(owner, client_of):
    client = client_of(owner)
    typed = {"name": "Thermometer", "kinds": ["room_c"], "every_min": "5", "note": "", "once": str(uuid4())}
    page = client.post(reverse("room:add-instrument"), typed)
    assert page.status_code == 200
    secret = page.context["secret"]
    assert f'<code class="secret">{secret}</code>' in page.content.decode()
    assert "http://testserver/api/readings/" in page.content.decode()
    assert send([one()], secret=secret).json()["kept"] == 1
    again = client.post(reverse("room:add-instrument"), typed, follow=True)
    assert again.redirect_chain == [(reverse("room:instrument", args=[Instrument.objects.get().pk]), 302)]
    assert "was added already, and its token was shown once" in again.content.decode()
    assert send([one(ago=timedelta(minutes=4))], secret=secret).json()["kept"] == 1
    other = client.post(reverse("room:add-instrument"), {**typed, "name": "Another"})
    assert other.status_code == 409
    assert Instrument.objects.count() == 1
    assert secret not in client.get(reverse("room:instrument", args=[Instrument.objects.get().pk])).content.decode()


def test_the_page_of_one_tells_what_was_not_kept_and_why(thermometer, engineer, client_of):
    send([one(value=21.3), one("room_rh", 140, "percent"), one("chip_kpa", 5, "kPa")])
    page = client_of(engineer).get(thermometer.get_absolute_url()).content.decode()
    assert "140\u00a0% cannot be: it lies between 0\u00a0% and 100\u00a0%." in page
    assert "This instrument may not write chip_kpa." in page
    assert "21.3" in page
    assert "Revoke" not in page  # an owner's


def test_what_an_instrument_read_stands_under_its_name(thermometer, owner, client_of):
    send([one(value=21.3)])
    client = client_of(owner)
    for page in ("room:room", "room:readings"):
        assert "Thermometer" in client.get(reverse(page)).content.decode()


def test_what_an_instrument_read_can_be_put_right_by_hand(thermometer, owner):
    send([one(value=21.3)])
    kept = Reading.objects.get()
    right = actions.correct_reading(by=owner, once=uuid4(), reading=kept, value=20.3, reason="It lay in the sun.")
    assert right.taken_by == owner.name
    assert send([one(value=21.3) | {"at": kept.at.isoformat()}]).json()["known"] == 1


def test_lists_of_instruments_ask_a_constant_number_of_queries(owner, client_of, django_assert_max_num_queries):
    client = client_of(owner)
    for count in range(12):
        add_instrument(owner, f"Thermometer {count}", secret=f"{count:043}")
    with django_assert_max_num_queries(8):
        client.get(reverse("room:instruments"))


# Limits and being missed ----------------------------------------------------------------------------------------------


def test_its_readings_are_held_against_the_shop_s_limits(thermometer):
    makers.set_limit("room_rh", care_above=60.0)
    send([one("room_rh", 71, "percent", ago=timedelta(0))])
    found = next(found for found in concern.gather(clock.now()) if found.key == "room:limit:room_rh")
    assert found.grade == Grade.CARE


def test_one_is_missed_after_three_of_its_own_intervals(thermometer):
    now = clock.now()
    send([one()])
    for minutes, count in ((29, 0), (31, 1)):
        with clock.moved(now + timedelta(minutes=minutes)):
            assert len(worries()) == count
    with clock.moved(now + timedelta(minutes=31)):
        (found,) = worries()
    assert found.headline == "Thermometer has fallen silent"
    assert "It should report every 10 minutes." in found.reason
    with clock.moved(now + timedelta(minutes=32)):
        send([one(ago=timedelta(0))])
        assert worries() == []


def test_one_that_sends_only_what_is_refused_is_missed_and_says_so(thermometer):
    now = clock.now()
    send([one()])
    with clock.moved(now + timedelta(minutes=31)):
        send([one(value=900, ago=timedelta(0))])
        (found,) = worries()
    assert "nothing it sent then was kept" in found.reason


def test_one_that_never_reported_is_told_too(thermometer):
    with clock.moved(clock.now() + timedelta(minutes=31)):
        (found,) = worries()
    assert found.headline == "Thermometer has kept no reading yet"


def test_one_that_was_revoked_or_is_brought_by_hand_is_missed_by_nobody(thermometer, owner):
    add_instrument(owner, "Logger", secret="z" * 43, every_min=None)
    actions.revoke_instrument(by=owner, once=uuid4(), instrument=thermometer)
    with clock.moved(clock.now() + timedelta(days=30)):
        assert worries() == []


def test_why_a_reading_was_not_kept_is_told_in_the_reader_s_units(owner, client_of):
    add_instrument(owner, "Gauge", ("nitrogen_bar", "room_c", "heater_ma"), secret="g" * 43)
    makers.connected_cylinder(owner)
    with clock.moved(clock.now() + timedelta(hours=1)):
        send([one("nitrogen_bar", 0, "bar"), one("room_c", 72), one("heater_ma", 0.43, "mA")], secret="g" * 43)
    address = reverse("room:instrument", args=[Instrument.objects.get().pk])
    page = client_of(owner).get(address).content.decode().replace("\u00a0", " ")
    assert "0 bar is much less than the 200 bar before" in page
    assert "0.43 mA is not likely here. Was 0.43 A meant?" in page
    owner.pressure_unit, owner.temperature_unit = "psi", "degF"
    owner.save()
    page = client_of(owner).get(address).content.decode().replace("\u00a0", " ")
    assert "0 psi is much less than the 2901 psi before" in page
    assert "161.6 °F is not likely here. Was 72 °F meant? It was sent as °C." in page


def test_no_figure_of_what_was_meant_is_turned_into_another(owner):
    owner.pressure_unit = "psi"
    told = "13\u00a0bar is much less. 13\u00a0bar would be 189\u00a0psi. Did you mean 13\u00a0psi (1\u00a0bar)?"
    assert retold_reason(told, owner) == told.replace("13\u00a0bar is", "189\u00a0psi is")
