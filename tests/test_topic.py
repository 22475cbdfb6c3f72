"""Topics that are read together: put together once, asked with the day it is, on either side of a midnight."""

from datetime import UTC, datetime, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from django.db import connection
from django.db.models import F
from django.db.models.functions import JSONObject
from django.test.utils import CaptureQueriesContext

from shop import clock, topic
from shop.concern import Concern, Grade
from shop.people.models import Person
from shop.topic import Topic, day_it_is, midnight
from tests.makers import make_person

pytestmark = pytest.mark.django_db
ZONE = "Europe/Lisbon"


def told(rows, now):
    return [
        Concern(
            key=str(row["pk"]), grade=Grade.NOTE, subject="x", headline=row["name"], reason="", what_to_do="", link="/"
        )
        for row in rows
    ]


def of(*querysets):
    return Topic(
        lambda: [rows.annotate(told=JSONObject(pk=F("pk"), name=F("name"))) for rows in querysets],
        lambda rows, now: iter(told(rows, now)),
    )


def names(topics, now):
    with clock.in_zone(ZONE):
        return sorted(one.headline for one in topic.together(topics, now))


@pytest.fixture
def three():
    """People made on the first of three days, in the room's zone: at its first moment, its last, and a day later."""
    for sign_in, at in (
        ("first", datetime(2025, 6, 9, 23, 0, tzinfo=UTC)),  # Lisbon is an hour ahead in summer
        ("last", datetime(2025, 6, 10, 22, 59, 59, tzinfo=UTC)),
        ("after", datetime(2025, 6, 10, 23, 0, tzinfo=UTC)),
    ):
        Person.objects.filter(pk=make_person(sign_in, sign_in.title(), "engineer").pk).update(made_at=at)


def test_the_same_statement_is_asked_with_each_day_as_it_comes(three):
    of_the_day = (of(Person.objects.filter(made_at__gte=midnight(), made_at__lt=midnight(days=1))),)
    noon = datetime(2025, 6, 10, 11, 0, tzinfo=UTC)
    assert names(of_the_day, noon) == ["First", "Last"]
    assert names(of_the_day, noon + timedelta(days=1)) == ["After"]
    assert names(of_the_day, noon - timedelta(days=1)) == []
    # the last second of the day in that zone, and the first of the next
    assert names(of_the_day, datetime(2025, 6, 10, 22, 59, 59, tzinfo=UTC)) == ["First", "Last"]
    assert names(of_the_day, datetime(2025, 6, 10, 23, 0, tzinfo=UTC)) == ["After"]


@pytest.mark.parametrize(
    ("later", "day"),
    [
        (timedelta(), "2025-06-10"),
        (timedelta(days=-31), "2025-05-10"),
        (timedelta(days=3), "2025-06-13"),
        (relativedelta(years=-1), "2024-06-10"),
    ],
)
def test_a_day_so_much_later(three, later, day):
    assert day_it_is(later).of({"day": datetime(2025, 6, 10).date()}) in (day, datetime.fromisoformat(day).date())  # noqa: DTZ001


def test_midnight_keeps_to_the_rooms_clock_when_that_changes():
    """Lisbon's clocks went forward on 30 March 2025: that day began at 00:00 UTC, the next at 23:00 UTC before it."""
    with clock.in_zone(ZONE):
        day = datetime(2025, 3, 29).date()  # noqa: DTZ001
        begins = [midnight(days=days).make(day).astimezone(UTC) for days in (0, 1, 2)]
    assert begins == [
        datetime(2025, 3, 29, 0, 0, tzinfo=UTC),
        datetime(2025, 3, 30, 0, 0, tzinfo=UTC),
        datetime(2025, 3, 30, 23, 0, tzinfo=UTC),
    ]


def test_several_topics_take_one_query_and_are_put_together_once(three, monkeypatch):
    made = []
    put_together = topic._statement
    monkeypatch.setattr(topic, "_statement", lambda *args: made.append(len(args[0])) or put_together(*args))
    topics = (
        of(Person.objects.filter(sign_in="first")),
        of(Person.objects.none()),
        of(Person.objects.filter(sign_in="last")),
    )
    now = datetime(2025, 6, 10, 11, 0, tzinfo=UTC)
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert names(topics, now) == ["First", "Last"]
        assert names(topics, now) == ["First", "Last"]
    assert len(asked) == 2
    assert made.count(3) == 1


def test_topics_that_are_sure_to_find_nothing_ask_nothing(django_assert_num_queries):
    with django_assert_num_queries(0):
        assert names((of(Person.objects.none()),), datetime(2025, 6, 10, tzinfo=UTC)) == []
