"""What instruments send: each reading kept once, known already, or refused with its reason."""

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import IntegrityError, connection
from django.test import Client

from shop import clock
from shop.room import actions, queries
from shop.room.api import pace
from shop.room.api.body import MOST_BODY, MOST_READINGS
from shop.room.models import Instrument, Reading, ReadingHour, RefusedReading
from tests.room import makers
from tests.room.instruments import PATH, SECRET, add_instrument, one, send, stamp


@pytest.fixture(autouse=True)
def fresh_pace():
    cache.clear()


@pytest.fixture
def thermometer(owner):
    return add_instrument(owner)


def outcomes(answer):
    assert answer.status_code == 200, answer.content
    return [result["outcome"] for result in answer.json()["results"]]


def test_a_batch_is_kept_in_the_stored_unit_and_says_what_took_it(thermometer, owner):
    answer = send([one(value=70.7, unit="degF"), one("room_rh", 46, "percent")])
    assert answer.json() == {
        "kept": 2,
        "known": 0,
        "refused": 0,
        "results": [{"outcome": "kept"}, {"outcome": "kept"}],
    }
    warm = Reading.objects.get(kind="room_c")
    assert warm.value == pytest.approx(21.5)
    assert (warm.instrument, warm.by, warm.taken_by) == (thermometer, owner, "Thermometer")
    thermometer.refresh_from_db()
    assert thermometer.kept == 2
    assert thermometer.heard_at == thermometer.kept_at
    assert thermometer.missed_at == thermometer.kept_at + timedelta(minutes=30)


def test_the_same_batch_again_is_known_and_kept_once(thermometer):
    batch = [one(), one("room_rh", 46, "percent")]
    send(batch)
    answer = send(batch)
    assert outcomes(answer) == ["known", "known"]
    assert Reading.objects.count() == 2
    assert ReadingHour.objects.filter(kind="room_c").get().count == 1


def test_twice_in_one_batch_is_kept_once(thermometer):
    twice = one()
    assert outcomes(send([twice, twice])) == ["kept", "known"]
    assert Reading.objects.count() == 1


def test_another_value_for_the_same_moment_is_refused_and_says_which_is_kept(thermometer):
    first = one(value=21.5)
    send([first])
    answer = send([{**first, "value": 22.5}])
    assert answer.json()["results"] == [
        {"outcome": "refused", "code": "differs", "reason": "21.5\u00a0°C is kept for that moment already."}
    ]
    assert Reading.objects.get().value == 21.5


def test_the_database_itself_keeps_a_moment_once(thermometer, owner):
    send([one()])
    kept = Reading.objects.get()
    kept.pk = None
    with pytest.raises(IntegrityError):
        kept.save(force_insert=True)


def test_late_and_out_of_order_is_accepted_and_the_latest_counts(thermometer):
    days = [3, 1, 2, 0.1]
    answer = send([one(value=20 + day, ago=timedelta(days=day)) for day in days])
    assert outcomes(answer) == ["kept"] * 4
    assert queries.latest("room_c").value == pytest.approx(20.1)


def test_good_ones_are_kept_beside_bad_ones_each_with_its_reason(thermometer):
    batch = [
        one(value=21.0),
        one("room_rh", 140, "percent"),
        one("chip_kpa", 8, "kPa"),
        one(value=72, ago=timedelta(minutes=4)),
        one(unit="bar", ago=timedelta(minutes=3)),
        one(value=True, ago=timedelta(minutes=2)),
        {**one(), "at": "2026-01-31 08:15"},
        {"kind": "room_c"},
        one("colour"),
        "nothing",
    ]
    told = send(batch).json()
    assert (told["kept"], told["refused"]) == (1, 9)
    assert [result.get("code") for result in told["results"]] == [
        None, "impossible", "kind", "unit", "unit", "value", "time", "shape", "kind", "shape",
    ]  # fmt: skip
    assert told["results"][1]["reason"] == "140\u00a0% cannot be: it lies between 0\u00a0% and 100\u00a0%."
    assert told["results"][3]["reason"] == ("72\u00a0°C is not likely here. Was 72\u00a0°F meant? It was sent as °C.")


def test_celsius_sent_as_fahrenheit_is_caught_too(thermometer):
    told = send([one(value=21, unit="degF")]).json()["results"][0]
    assert told["code"] == "unit"
    assert "Was 21\u00a0°C meant? It was sent as °F." in told["reason"]


def test_what_is_unlikely_and_may_be_true_is_kept(thermometer):
    assert outcomes(send([one(value=4.5)])) == ["kept"]  # the heating failed; no unit explains it


def test_a_room_that_grew_hot_step_by_step_is_believed(thermometer):
    """70 °C would be taken for Fahrenheit, were it not read just after 63 °C."""
    heat = [one(value=value, ago=timedelta(minutes=30 - n)) for n, value in enumerate((34, 41, 48, 55, 63, 70))]
    assert outcomes(send(heat)) == ["kept"] * 6


@pytest.mark.parametrize(
    ("ahead", "what"),
    [(timedelta(seconds=8), "kept"), (timedelta(seconds=30), "refused"), (timedelta(days=900), "refused")],
)
def test_a_clock_from_the_future(thermometer, ahead, what):
    answer = send([one(ago=-ahead)])
    assert outcomes(answer) == [what]
    if what == "refused":
        assert answer.json()["results"][0]["code"] == "future"
        assert "Set the instrument's clock." in answer.json()["results"][0]["reason"]


@pytest.mark.parametrize("at", ["1970-01-01T00:00:07Z", "2000-01-01T00:00:07Z", "0001-01-01T00:00:00+14:00"])
def test_a_clock_that_fell_back_to_its_maker_s_date(thermometer, at):
    answer = send([{**one(), "at": at}])
    assert answer.json()["results"][0]["code"] in ("old", "time")
    assert not Reading.objects.exists()


@pytest.mark.parametrize(
    "at",
    ["2026-11-31T08:00:00Z", "2026-01-31T08:15:00", "2026-W05-6T08:15:00Z", "20260131T081500Z", "", None, 1769847300],
)
def test_a_moment_that_cannot_be_read(thermometer, at):
    assert send([{**one(), "at": at}]).json()["results"][0]["code"] == "time"


def test_an_offset_is_reckoned_with(thermometer):
    at = (clock.now() - timedelta(hours=1)).replace(microsecond=0)
    send([{**one(), "at": (at + timedelta(hours=5)).strftime("%Y-%m-%dT%H:%M:%S+05:00")}])
    assert Reading.objects.get().at == at


def test_refusals_are_kept_by_kind_and_cause_with_how_often(thermometer):
    for _ in range(3):
        send([one("room_rh", 140, "percent"), one("room_rh", 150, "percent"), one(value=10_000)])
    damp = RefusedReading.objects.get(kind="room_rh")
    assert (damp.code, damp.count, damp.value) == ("impossible", 6, 150)
    assert RefusedReading.objects.count() == 2
    thermometer.refresh_from_db()
    assert thermometer.heard_at is not None
    assert thermometer.kept_at is None


# Gauges ---------------------------------------------------------------------------------------------------------------


@pytest.fixture
def gauge(owner):
    add_instrument(owner, "Gauge", ("nitrogen_bar",))
    makers.connected_cylinder(owner)
    return Instrument.objects.get()


def bar(value, unit="bar", minutes=0.0):
    return one("nitrogen_bar", value, unit, ago=timedelta(minutes=-minutes))


def test_a_gauge_goes_to_the_cylinder_connected_then(gauge, owner):
    with clock.moved(clock.now() + timedelta(hours=1)):
        assert outcomes(send([bar(196), bar(2850, "psi", -2)])) == ["kept", "kept"]
    assert {reading.cylinder.mark for reading in Reading.objects.all()} == {"N-17"}


def test_psi_sent_as_bar_is_caught_by_the_cylinder_s_own_fill(gauge):
    with clock.moved(clock.now() + timedelta(hours=1)):
        told = send([bar(196, minutes=-2), bar(210), bar(13.5, minutes=-1)]).json()["results"]
    assert told[0]["outcome"] == "kept"
    assert told[1]["code"] == "gauge"
    assert "above the service pressure" in told[1]["reason"]
    assert told[2]["code"] == "fell"  # no unit explains it: that may be a leak, once it has stayed there


def test_bar_sent_as_psi_is_caught(gauge):
    with clock.moved(clock.now() + timedelta(hours=1)):
        told = send([bar(196, minutes=-2), bar(190, "psi")]).json()["results"]
    assert told[1]["code"] == "gauge"
    assert "Was 190\u00a0bar meant? It was sent as psi." in told[1]["reason"]


def test_psi_far_above_any_gauge_names_the_unit(gauge):
    with clock.moved(clock.now() + timedelta(hours=1)):
        told = send([bar(2800)]).json()["results"][0]
    assert told["code"] == "impossible"
    assert "Was 2800\u00a0psi meant? It was sent as bar." in told["reason"]


def test_a_gauge_that_rises_asks_for_the_new_cylinder(gauge):
    with clock.moved(clock.now() + timedelta(hours=1)):
        told = send([bar(175, minutes=-2), bar(195)]).json()["results"]
    assert told[1]["code"] == "gauge"
    assert "connect the new one first" in told[1]["reason"]


def test_one_reading_of_nought_does_not_silence_a_gauge(gauge):
    with clock.moved(clock.now() + timedelta(hours=1)):
        assert outcomes(send([bar(180, minutes=-30)])) == ["kept"]
        glitch = send([bar(0, minutes=-29.5)]).json()["results"][0]
        assert glitch["code"] == "fell"
        assert glitch["reason"] == (
            "0\u00a0bar is much less than the 180\u00a0bar before, and no use explains it. It is believed once the "
            "gauge has stood there for 10 minutes. Look at the gauge; if it is right, look for a leak."
        )
        assert outcomes(send([bar(180, minutes=-29), bar(179, minutes=-15)])) == ["kept", "kept"]
        # another one, much later, does not bear the first out
        assert send([bar(0, minutes=-14)]).json()["results"][0]["code"] == "fell"
        assert outcomes(send([bar(179, minutes=-1)])) == ["kept"]
    assert sorted(Reading.objects.values_list("value", flat=True)) == [179, 179, 180, 180]
    assert RefusedReading.objects.get().count == 2


@pytest.mark.parametrize("at_once", [True, False])
def test_a_gauge_that_stays_where_it_fell_to_is_believed(gauge, at_once):
    """A leak: it falls on while it is not believed yet."""
    with clock.moved(clock.now() + timedelta(hours=1)):
        send([bar(180, minutes=-30)])
        fallen = [bar(60 - n / 2, minutes=-20 + n) for n in range(0, 16, 2)]
        told = send(fallen).json()["results"] if at_once else [send([one]).json()["results"][0] for one in fallen]
    assert [one["outcome"] for one in told] == ["refused"] * 5 + ["kept"] * 3
    assert sorted(Reading.objects.values_list("value", flat=True)) == [53, 54, 55, 180]


def test_a_gauge_that_jumps_about_where_it_fell_to_is_not_believed(gauge):
    with clock.moved(clock.now() + timedelta(hours=1)):
        send([bar(180, minutes=-40)])
        told = send([bar(n % 2 * 40, minutes=-30 + 4 * n) for n in range(7)]).json()["results"]
    assert {one["code"] for one in told if one["outcome"] == "refused"} == {"fell"}
    assert [one["outcome"] for one in told].count("kept") == 0


# Wrong units that nothing but the room tells --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "before", "value", "unit", "reason"),
    [
        (
            "room_rh",
            30,
            0.45,
            "percent",
            "0.45\u00a0% is not likely here. Was 45\u00a0% meant? It seems to be sent as a share of 1.",
        ),
        ("heater_ma", 300, 0.43, "mA", "0.43\u00a0mA is not likely here. Was 0.43\u00a0A meant? It was sent as mA."),
    ],
)
def test_a_wrong_unit_is_told_from_the_room_though_the_reading_before_was_small(
    owner, kind, before, value, unit, reason
):
    add_instrument(owner, kinds=(kind,))
    assert outcomes(send([one(kind, before, unit, ago=timedelta(minutes=9))])) == ["kept"]
    told = send([one(kind, value, unit)]).json()["results"][0]
    assert (told["code"], told["reason"]) == ("unit", reason)


def test_air_without_water_is_no_share_and_is_kept(owner):
    add_instrument(owner)
    assert outcomes(send([one("room_rh", 0, "percent"), one("room_rh", 12, "percent", ago=timedelta(0))])) == [
        "kept",
        "kept",
    ]


def test_a_gauge_without_a_cylinder_is_refused(owner):
    add_instrument(owner, "Gauge", ("nitrogen_bar",))
    assert send([bar(196, minutes=-5)]).json()["results"][0]["code"] == "cylinder"


# The door -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("token", ["", "wrong", "Bearer", "x" * 5000, "gr\u00fcn"])
def test_an_unknown_token_and_a_revoked_one_get_the_same_answer(thermometer, owner, token):
    actions.revoke_instrument(by=owner, once=uuid4(), instrument=thermometer)
    revoked = send([one()])
    unknown = Client().post(
        PATH, {"readings": [one()]}, "application/json", headers={"Authorization": f"Bearer {token}"}
    )
    assert revoked.status_code == unknown.status_code == 401
    assert revoked.content == unknown.content
    assert revoked.headers["WWW-Authenticate"] == unknown.headers["WWW-Authenticate"]
    assert not Reading.objects.exists()


def test_a_sign_in_stands_for_no_token(thermometer, owner, client_of):
    answer = client_of(owner).post(PATH, {"readings": [one()]}, "application/json")
    assert answer.status_code == 401


def test_it_sets_no_cookie(thermometer):
    asks = Client(enforce_csrf_checks=True)
    assert send([one()], client=asks).status_code == 200
    assert not asks.cookies


def test_one_revoked_while_its_batch_is_on_the_way_writes_nothing(thermometer, owner, monkeypatch):
    from shop.room.api import views

    real = views.read_batch

    def slow(body):
        actions.revoke_instrument(by=owner, once=uuid4(), instrument=thermometer)
        return real(body)

    monkeypatch.setattr(views, "read_batch", slow)
    assert send([one()]).status_code == 401
    assert not Reading.objects.exists()


def test_ten_megabytes_are_refused_unread(thermometer, monkeypatch):
    read = []
    monkeypatch.setattr("shop.room.api.views.read_batch", read.append)
    answer = Client().post(
        PATH, b"x" * 10 * 1024 * 1024, "application/json", headers={"Authorization": f"Bearer {SECRET}"}
    )
    assert answer.status_code == 413
    assert "2048 KiB at most" in answer.json()["detail"]
    assert read == []


def test_ten_thousand_at_once_are_kept_and_one_more_is_refused_as_a_whole(thermometer):
    now = clock.now().replace(microsecond=0)
    many = [
        {"kind": "room_c", "at": stamp(now - timedelta(minutes=n)), "value": 21 + n % 7 / 10, "unit": "degC"}
        for n in range(MOST_READINGS)
    ]
    assert len(json.dumps({"readings": many})) < MOST_BODY
    answer = send(many)
    assert answer.json()["kept"] == MOST_READINGS == Reading.objects.count()
    more = send([*many, one()])
    assert more.status_code == 400
    assert more.json()["detail"] == (
        "These are 10001 readings; one batch holds 10000 at most. Nothing was kept: send them in several batches."
    )


def test_a_batch_takes_the_same_number_of_queries_however_long(thermometer, django_assert_max_num_queries):
    for size in (2, 700):
        with django_assert_max_num_queries(16) as asked:
            send([one(value=21 + n / 1000, ago=timedelta(minutes=n, days=size)) for n in range(size)])
        print(size, len(asked))


@pytest.mark.parametrize(
    "body",
    [
        b" ",
        b"{",
        b"[]",
        b'{"readings": []}',
        b'{"readings": {}}',
        b'{"readings": [1], "more": 1}',
        b'{"readings": [NaN]}',
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"readings": [' + b"9" * 5000 + b"]}",
    ],
)
def test_what_is_no_batch_is_refused_as_a_whole(thermometer, body):
    answer = Client().post(PATH, body, "application/json", headers={"Authorization": f"Bearer {SECRET}"})
    assert answer.status_code == 400
    assert answer.headers["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("value", ["21", None, [], {}, 1e400, 10**400, -1e300])
def test_what_is_no_number_is_refused_by_itself(thermometer, value):
    readings = [one(), {**one(ago=timedelta(minutes=7)), "value": value}]
    body = json.dumps({"readings": readings}).replace("Infinity", "1e999").replace("Infinity", "1e999")
    answer = Client().post(PATH, body, "application/json", headers={"Authorization": f"Bearer {SECRET}"})
    assert outcomes(answer) == ["kept", "refused"]


def test_what_is_not_json_is_told(thermometer):
    answer = Client().post(PATH, b"a=1", "text/plain", headers={"Authorization": f"Bearer {SECRET}"})
    assert answer.status_code == 415


def test_too_often_is_told_with_what_to_wait(thermometer, monkeypatch):
    monkeypatch.setattr(pace, "OF_INSTRUMENT", 2)
    with clock.moved(datetime(2026, 11, 25, 8, 0, 20, tzinfo=UTC)):
        assert [send([one()]).status_code for _ in range(3)] == [200, 200, 429]
        assert send([one()]).headers["Retry-After"] == "40"
    with clock.moved(datetime(2026, 11, 25, 8, 1, 0, tzinfo=UTC)):
        assert send([one()]).status_code == 200


def test_an_address_that_guesses_is_held_up_before_a_token_is_looked_for(
    thermometer, monkeypatch, django_assert_num_queries
):
    monkeypatch.setattr(pace, "OF_ADDRESS", 3)
    for _ in range(3):
        assert send([one()], secret="guess").status_code == 401
    with django_assert_num_queries(1):  # the room's own row
        assert send([one()]).status_code == 429


def test_who_asks_too_often_from_one_address_is_told_of_the_address(thermometer, monkeypatch):
    monkeypatch.setattr(pace, "OF_ADDRESS", 2)
    with clock.moved(datetime(2026, 11, 25, 8, 0, 20, tzinfo=UTC)):
        *_, told = [send([one()]) for _ in range(3)]
    assert told.status_code == 429
    assert told.json()["detail"] == (
        "All that ask from one address together may ask 2 times a minute. Wait 40 s, and send several readings at once."
    )


def test_an_instrument_is_told_what_it_may_write_and_the_time(thermometer):
    moment = datetime(2026, 11, 25, 8, 0, 20, tzinfo=UTC)
    with clock.moved(moment):
        told = Client().get("/api/instrument/", headers={"Authorization": f"Bearer {SECRET}"}).json()
    assert told["now"] == "2026-11-25T08:00:20Z"
    assert told["kinds"][0] == {"kind": "room_c", "name": "Room temperature", "units": ["degC", "degF"]}
    assert Client().get("/api/instrument/").status_code == 401


# At once --------------------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_the_same_batch_by_eight_at_once_is_kept_once(owner):
    add_instrument(owner)
    now = clock.now()
    batch = [one(value=21 + n / 100, ago=timedelta(minutes=n)) for n in range(50)]

    def go(_):
        try:
            return send(batch).json()
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        told = list(pool.map(go, range(8)))
    assert sum(answer["kept"] for answer in told) == 50
    assert sum(answer["known"] for answer in told) == 350
    assert Reading.objects.count() == 50
    assert sum(ReadingHour.objects.values_list("count", flat=True)) == 50
    assert Instrument.objects.get().kept == 50
    assert now
