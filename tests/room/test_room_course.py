"""Charts of a few readings and of very many: thinned by the database, and right all the same."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import bulk, clock
from shop.room import actions, hours, queries
from shop.room.course import summary
from shop.room.models import Cylinder, Reading, ReadingHour, ReadingKind
from tests.makers import moment
from tests.room import makers

NOW = moment("2025-04-10 09:30")  # eleven days after the clocks went forward


def minutes(by, count, *, kind="room_c", every=1, cylinder=None, until=NOW):
    """So many readings, one every so many minutes, the latest first: 20 to 20.9, and one lowest and one highest."""
    rows = [
        Reading(
            kind=kind,
            value=20 + n % 10 / 10 + (5 if n == count // 2 else -5 if n == count // 3 else 0),
            at=until - timedelta(minutes=every * n),
            recorded_at=until,
            by=by,
            cylinder=cylinder,
        )
        for n in range(count)
    ]
    bulk.insert(rows)
    hours.count_in(rows)
    return rows


@pytest.mark.parametrize(
    ("days", "every", "most"), [(1, 1, 290), (30, 5, 362), (90, 15, 362), (365, 120, 367)], ids=["1", "30", "90", "365"]
)
def test_a_stretch_is_thinned_to_some_hundreds_of_points_and_nothing_is_lost(owner, days, every, most):
    rows = minutes(owner, int(days * 1440 / every), every=every)
    with clock.moved(NOW):
        points = queries.course(ReadingKind.ROOM_C, NOW - timedelta(days=days), NOW)
        told = summary(points, days)
    assert 280 < len(points) <= most
    assert [point.at for point in points] == sorted(point.at for point in points)
    values = [row.value for row in rows]
    assert told.count == pytest.approx(len(rows), abs=60 / every)  # the first hour may reach back before the stretch
    assert (told.low, told.high) == (min(values), max(values))
    assert told.middle == pytest.approx(sum(values) / len(values), abs=0.01)
    assert sum(row.count for row in told.rows) == told.count


def test_days_of_the_table_are_the_room_s_own_across_a_change_of_clocks(owner):
    minutes(owner, 30 * 288, every=5)
    with clock.moved(NOW):
        told = summary(queries.course(ReadingKind.ROOM_C, NOW - timedelta(days=30), NOW), 30)
    by_day = {row.start.isoformat(): row.count for row in told.rows}
    assert by_day["2025-03-29"] == 288
    assert by_day["2025-03-30"] == 276  # 23 hours long
    assert by_day["2025-03-31"] == 288


def test_few_readings_are_drawn_one_by_one(owner):
    with clock.moved(NOW - timedelta(hours=3)):
        makers.take(owner, room_c=21)
    points = queries.course(ReadingKind.ROOM_C, NOW - timedelta(days=365), NOW)
    assert [(point.value, point.many) for point in points] == [(21, 1)]


def test_queries_and_rows_stay_as_they_are_however_many_readings_there_are(owner, client_of):
    client = client_of(owner)

    def asked(days):
        with clock.moved(NOW), CaptureQueriesContext(connection) as caught:
            page = client.get(f"/room/readings/room_c/?days={days}")
        assert page.status_code == 200
        assert len(page.content) < 150_000
        return len(caught)

    minutes(owner, 1000, every=500)
    asked(365)  # the first page notes that somebody is here
    few = asked(365)
    minutes(owner, 12_000, every=40, until=NOW - timedelta(seconds=30))
    assert asked(365) == few
    assert asked(90) == asked(30) == few
    assert few <= 12


def test_a_corrected_reading_counts_in_no_hour(owner):
    rows = minutes(owner, 3000, every=10)
    with clock.moved(NOW):
        wrong = Reading.objects.get(value=max(row.value for row in rows))
        actions.correct_reading(by=owner, once=uuid4(), reading=wrong, value=20.5, reason="It lay in the sun.")
        told = summary(queries.course(ReadingKind.ROOM_C, NOW - timedelta(days=30), NOW), 30)
    assert told.high < 21
    assert sum(ReadingHour.objects.values_list("count", flat=True)) == 3000


def test_a_cylinder_s_gauge_is_thinned_and_tells_its_cylinders_apart(owner):
    with clock.moved(NOW - timedelta(days=20)):
        first = makers.connected_cylinder(owner, "N-1")
    other = Cylinder.objects.create(
        mark="N-2", water_volume_l=50, service_bar=200, fill_bar=200, delivered_on=NOW.date()
    )
    minutes(owner, 2000, kind="nitrogen_bar", every=10, cylinder=first, until=NOW - timedelta(days=2))
    minutes(owner, 100, kind="nitrogen_bar", every=10, cylinder=other)
    with clock.moved(NOW):
        points = queries.gauge_course(first)
        month = queries.course(ReadingKind.NITROGEN_BAR, NOW - timedelta(days=30), NOW)
    assert len(points) <= queries.MOST_POINTS
    assert {point.cylinder_id for point in points} == {first.pk}
    assert sum(point.many for point in points) == 2000
    assert {point.cylinder_id for point in month} == {first.pk, other.pk}


def test_the_hours_agree_with_the_readings(owner):
    minutes(owner, 500, every=7)
    for hour in ReadingHour.objects.all():
        values = list(
            Reading.objects.filter(at__gte=hour.hour, at__lt=hour.hour + hours.HOUR).values_list("value", flat=True)
        )
        assert (hour.count, hour.low, hour.high) == (len(values), min(values), max(values))
        assert hour.total == pytest.approx(sum(values))
