"""The air of the cutting room and of the blank store: outside the bands, for how long, and which lots were there."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import DatabaseError, IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from shop import clock, concern
from shop.people.models import Person
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
    assert re.findall(r"Outside the band: [^<]*", words) == ["Outside the band: 9 h above, of 30 h that are known."]
    assert f">{lot.code}</a>" not in words  # it came after
    assert "10.2\u00a0°C" in words  # the dew point of 21 °C and 50 % (check value: 10.175)
    assert "9.1 g in each m³" in words
    assert client.get(page + "?days=365").status_code == 200
    assert client.get(page + "?days=x").status_code == 200
    assert client.post(page).status_code == 405
    assert Client().get(page).status_code == 302


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


def test_what_an_instrument_sends_each_minute_is_told_by_the_hour(assistant: Person, engineer: Person) -> None:
    Limit.objects.create(kind="store_c", care_above=25.0)
    with moved("2025-03-10 12:00"):
        end = clock.now()
        taken = [
            Reading(
                kind="store_c", value=27.0 if 600 <= n < 1200 else 20.0, at=end - timedelta(minutes=n), by=assistant
            )
            for n in range(4000)
        ]
        for reading in taken:
            reading.recorded_at = reading.at
        Reading.objects.bulk_create(taken)
        count_in(taken)
        found = course()
        assert found.outside is not None
        assert len(found.points) in (67, 68)
        assert found.outside.above_h == pytest.approx(10, abs=0.5)
        assert climate.thinned(found.points) == list(found.points)
        many = [climate.Point(end + timedelta(minutes=n), float(n % 10), None) for n in range(4000)]
        assert len(climate.thinned(many)) == 400
        assert sum(point.value for point in climate.thinned(many)) / 400 == pytest.approx(4.5)
