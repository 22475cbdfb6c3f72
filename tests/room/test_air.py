"""The air of the cutting room and of the blank store: outside the bands, for how long, and which lots were there."""

import re
from collections.abc import Callable
from dataclasses import astuple
from datetime import datetime, timedelta
from random import Random
from uuid import uuid4

import pytest
from django.db import DatabaseError, IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from shop import bulk, clock, concern
from shop.calc.air import time_outside
from shop.people.models import Person
from shop.room import actions, queries
from shop.room.hours import count_in
from shop.room.models import Limit, Reading, ReadingKind
from shop.room.queries import climate
from tests.makers import at as moved
from tests.makers import moment
from tests.room import makers
from tests.stock import makers as stock

pytestmark = pytest.mark.django_db

STORE = (ReadingKind.STORE_C, ReadingKind.STORE_RH)


def course(kind: ReadingKind = ReadingKind.STORE_C, days: int = 30) -> climate.Course:
    return climate.courses((kind,), clock.now() - timedelta(days=days), clock.now())[kind]


def test_time_outside_is_told_from_the_crossing(assistant: Person) -> None:
    Limit.objects.create(kind="store_c", care_above=25.0)
    for at, value in (("2025-03-03 08:00", 21.0), ("2025-03-03 16:00", 29.0), ("2025-03-04 00:00", 21.0)):
        with moved(at):
            makers.take_anyway(assistant, store_c=value)
    with moved("2025-03-04 08:00"):
        found = course()
        assert found.outside is not None
        assert (found.outside.known_h, found.outside.above_h) == (16, 8)
        (time,) = found.times
        assert (time.start, time.end) == (moment("2025-03-03 12:00"), moment("2025-03-03 20:00"))
        assert (time.worst, time.is_above, time.is_going_on) == (29.0, True, False)


def test_without_a_band_or_readings_nothing_is_outside(assistant: Person) -> None:
    with moved("2025-03-03 08:00"):
        assert course().outside is None
        makers.take_anyway(assistant, store_c=29.0)
        assert (course().outside, course().times) == (None, ())


def test_which_lots_were_there_is_what_the_ledger_says(assistant: Person, engineer: Person) -> None:
    Limit.objects.create(kind="store_c", care_above=25.0)
    item = stock.make_item(engineer)
    with moved("2025-03-01 09:00"):
        gone = stock.make_lot(engineer, item, 5, code="A")
        used = stock.make_lot(engineer, item, 8, code="B")
    with moved("2025-03-02 09:00"):
        stock.use(engineer, gone, 5)
    for at, value in (("2025-03-03 08:00", 27.0), ("2025-03-03 20:00", 27.0), ("2025-03-04 00:00", 20.0)):
        with moved(at):
            makers.take_anyway(assistant, store_c=value)
        if at.endswith("08:00"):
            with moved("2025-03-03 10:00"):
                stock.use(engineer, used, 3)
            with moved("2025-03-03 12:00"):
                came = stock.make_lot(engineer, item, 4, code="C")
    with moved("2025-03-05 09:00"):
        stock.use(engineer, used, 5)
        stock.make_lot(engineer, item, 9, code="D")
        (there,) = climate.lots_then(course().times)
        assert [(then.lot.pk, then.held) for then in there] == [(used.pk, 8), (came.pk, 4)]
        assert climate.lots_then([]) == []


def test_the_store_has_limits_of_its_own_and_is_a_concern(assistant: Person) -> None:
    Limit.objects.create(kind="store_rh", care_above=60.0, hold_above=75.0, what_to_do="Dry it.")
    with moved("2025-03-03 08:00"):
        makers.take_anyway(assistant, store_rh=66.0)
        (worry,) = [each for each in concern.gather(clock.now()) if each.key == "room:limit:store_rh"]
        assert (worry.grade, worry.what_to_do) == (concern.Grade.CARE, "Dry it.")


def test_a_stores_humidity_is_a_share_and_readings_stay(assistant: Person) -> None:
    with moved("2025-03-03 08:00"):
        kept = makers.take_anyway(assistant, store_rh=50.0)
        with pytest.raises(IntegrityError), transaction.atomic():
            Reading.objects.create(kind="store_rh", value=140.0, at=kept.at, recorded_at=kept.at, by=assistant)
        for act in (lambda: Reading.objects.update(value=1), lambda: Reading.objects.filter(pk=kept.pk).delete()):
            with pytest.raises(DatabaseError), transaction.atomic():
                act()


def test_the_page(client_of: Callable[[Person], Client], assistant: Person, visitor: Person, engineer: Person) -> None:
    client = client_of(visitor)
    page = reverse("room:air")
    assert "Not read yet" in client.get(page).content.decode()
    Limit.objects.create(kind="store_c", care_above=25.0)
    lot = stock.make_lot(engineer, stock.make_item(engineer), 5)
    for hours, value in ((30, 21.0), (20, 28.0), (10, 21.0), (0, 21.0)):
        makers.take_anyway(assistant, at=clock.now() - timedelta(hours=hours), store_c=value, store_rh=50.0)
    words = client.get(page).content.decode()
    assert "Store temperature, above" in words
    assert re.findall(r"Outside the band: [^<]*", words) == [
        "Outside the band: 9\u00a0h above, of 30\u00a0h that are known."
    ]
    assert f">{lot.code}</a>" not in words  # it came after
    assert "10.2\u00a0°C" in words  # the dew point of 21 °C and 50 % (check value: 10.175)
    assert "9.1 g in each m³" in words
    assert client.get(page + "?days=365").status_code == 200
    assert client.get(page + "?days=x").status_code == 200
    assert client.post(page).status_code == 405
    assert Client().get(page).status_code == 302


@pytest.mark.parametrize(
    ("taken", "words"),
    [
        ({}, "The air was not read today."),
        (
            {"room_c": 21.0},
            "Today the room&#x27;s temperature was read and its humidity was not: a dew point needs both.",
        ),
        ({"room_c": 21.0, "room_rh": 0.0}, "21.0 °C and 0 % make no dew point: no room has such air."),
    ],
)
def test_where_there_is_no_dew_point_the_line_and_the_air_say_why(client_of, assistant, taken, words) -> None:
    if taken:
        makers.take_anyway(assistant, **taken)
    client = client_of(assistant)
    line = client.get(reverse("room:line")).content.decode().replace("\u00a0", " ")
    assert words in line
    air = client.get(reverse("room:air")).content.decode().replace("\u00a0", " ")
    if len(taken) == 2:
        assert "The air was not read today" not in line
        assert words in air


def test_its_queries_do_not_grow(client_of, visitor, assistant, engineer, django_assert_max_num_queries) -> None:
    Limit.objects.create(kind="store_c", care_above=25.0)
    item = stock.make_item(engineer)
    for _ in range(5):
        stock.make_lot(engineer, item, 5)
    for day in range(12):
        makers.take_anyway(assistant, at=clock.now() - timedelta(days=day), store_c=20.0 + 8 * (day % 2), store_rh=50.0)
    client = client_of(visitor)
    client.get(reverse("room:air"))
    with django_assert_max_num_queries(12):
        client.get(reverse("room:air"))


def keep(by: Person, kind: str, taken: list[tuple[datetime, float]]) -> None:
    """As an instrument's readings are kept: with the sums of their hours."""
    rows = [Reading(kind=kind, value=value, at=at, recorded_at=at, by=by) for at, value in taken]
    bulk.insert(rows)
    count_in(rows)


def test_a_quarter_of_an_hour_outside_is_told_among_readings_of_every_minute(owner, client_of) -> None:
    """95 °F in a room that is held at 90, among 38 000 readings."""
    Limit.objects.create(kind="room_c", care_below=18.0, care_above=25.0, hold_above=30.0)
    with moved("2025-03-20 12:00"):
        end = clock.now()
        keep(
            owner,
            "room_c",
            [(end - timedelta(minutes=n), 35.0 if 3000 < n <= 3015 else 21 + n % 7 / 10) for n in range(27 * 1440)],
        )
        found = course(ReadingKind.ROOM_C)
        assert found.outside is not None
        (time,) = found.times
        assert (time.worst, time.is_above) == (35.0, True)
        # a quarter of an hour from the first to the last reading but a minute, and what the way up and down takes
        assert timedelta(minutes=14) < time.end - time.start < timedelta(minutes=16)
        assert found.outside.known_h == pytest.approx(27 * 24, abs=0.1)
        assert sum(point.many for point in found.points) == 27 * 1440
        words = client_of(owner).get(reverse("room:air")).content.decode().replace("\u00a0", " ")
    assert "Outside the band: 15 min above, of 648 h that are known." in words
    assert "38 880 readings between 21.0 °C and 35.0 °C" in words.replace("\u202f", " ")


def test_how_often_one_kind_is_read_does_not_change_what_is_told_of_another(owner, client_of) -> None:
    Limit.objects.create(kind="store_rh", care_below=30.0, care_above=55.0)
    with moved("2025-03-20 12:00"):
        end = clock.now()
        by_eye = [(end - timedelta(days=n, minutes=7), 0.45 if n == 5 else 60.0 if n == 6 else 45.0) for n in range(20)]
        keep(owner, "store_rh", by_eye)
        before = course(ReadingKind.STORE_RH)
        keep(owner, "room_rh", [(end - timedelta(minutes=n), 45.0) for n in range(5000)])
        both = climate.courses((ReadingKind.STORE_RH, ReadingKind.ROOM_RH), end - timedelta(days=30), end)
    assert both[ReadingKind.STORE_RH] == before
    assert [(point.at, point.value) for point in before.points] == sorted(by_eye)
    assert {time.worst for time in before.times} == {0.45, 60.0}


def taken_at_random(seed: int, count: int, end: datetime) -> list[tuple[datetime, float]]:
    """A sensor now and then near the edges, now and then gone for some days, sending at odd times."""
    rng = Random(seed)
    taken, at, value = [], end, 22.0
    for _ in range(count):
        at -= timedelta(seconds=rng.choice([20, 60, 60, 61, 400, 4000]))
        if rng.random() < 0.002:
            at -= timedelta(hours=rng.uniform(20, 60))
        value = 22 + 0.995 * (value - 22) + rng.gauss(0, 0.3)
        taken.append((at, round(value, 2)))
    return taken[::-1]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("band", [(20.0, 24.0), (None, 24.0), (20.0, None)])
def test_of_many_readings_the_time_outside_is_told_exactly(owner, seed, band) -> None:
    """Held against the same reckoning over every reading by itself."""
    Limit.objects.create(kind="store_c", care_below=band[0], care_above=band[1])
    with moved("2025-03-20 12:00"):
        end, days = clock.now(), 30
        keep(owner, "store_c", taken_at_random(seed, 3000, end))
        wrong = Reading.objects.filter(kind="store_c").order_by("-value")[3]
        actions.correct_reading(
            by=owner, once=uuid4(), reading=wrong, value=22.0, reason="A hand on it.", sure=["value:jumped:22"]
        )
        since = end - timedelta(days=days, minutes=17)
        found = climate.courses((ReadingKind.STORE_C,), since, end)[ReadingKind.STORE_C]
        every = queries.readings().filter(kind="store_c", at__gte=since, at__lte=end).order_by("at", "id")
        told = time_outside(
            [((at - since).total_seconds() / 3600, value) for at, value in every.values_list("at", "value")],
            *band,
            longest_gap_h=36,
        )
    assert len(found.points) < 400 < every.count()
    assert found.outside is not None
    assert found.outside.known_h == pytest.approx(told.known_h)
    assert (found.outside.below_h, found.outside.above_h) == pytest.approx((told.below_h, told.above_h))
    assert len(told.spells) > 3
    assert [spell[2:] for spell in map(astuple, found.outside.spells)] == [s[2:] for s in map(astuple, told.spells)]
    assert [spell.start_h for spell in found.outside.spells] == pytest.approx([s.start_h for s in told.spells])


def test_the_air_and_the_page_of_a_kind_tell_the_same_of_the_same_days(owner, client_of) -> None:
    with moved("2025-03-20 12:00"):
        end = clock.now()
        keep(owner, "room_c", [(end - timedelta(minutes=n * 53), 21 + n % 11 / 10 - n / 400) for n in range(700)])
        client = client_of(owner)
        pages = [client.get(page).content.decode() for page in ("/room/air/?days=30", "/room/readings/room_c/?days=30")]
    told = [set(re.findall(r"[0-9]+ readings between [^<]* in the last\.", page)) for page in pages]
    assert len(told[0]) == 1
    assert told[0] == told[1]
    for page in pages:
        (described,) = set(re.findall(r"(\d+ readings between [^.]+[^ ]+ and [^ ]+)\. The shop has set no", page))
        assert described in next(iter(told[0]))
