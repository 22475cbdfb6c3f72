"""Questions put together once: asked with other values, by any thread, and depending on nothing else that changes."""

import importlib
import pkgutil
from datetime import UTC, datetime
from threading import Thread

import pytest
from django.db import connection, transaction
from django.db.models import CharField, DateTimeField, Exists, IntegerField, OuterRef
from django.db.models.functions import Upper

import shop
from shop import clock, prepared
from shop.people.models import Person
from shop.prepared import Given, Prepared
from shop.stock.models import Lot
from tests.makers import at, make_person
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


def by_sign_in():
    return Person.objects.filter(sign_in=Given("sign_in", CharField()))


@pytest.fixture
def two():
    return [make_person(name, name.title(), "engineer") for name in ("first", "second")]


def test_it_is_put_together_once_and_asked_with_each_value(two):
    made = []

    def question():
        made.append(1)
        return by_sign_in()

    asked = Prepared(question)
    assert [asked(sign_in=name) for name in ("first", "second", "third", "first")] == [[two[0]], [two[1]], [], [two[0]]]
    assert asked.first(sign_in="second") == two[1]
    assert asked.first(sign_in="third") is None
    assert made == [1]


def test_what_it_finds_is_what_the_queryset_finds(engineer, django_assert_num_queries):
    """Joined rows, annotations and moments come as ever; values, too, inside a part of the question."""
    lot = make_lot(engineer, make_item(engineer))

    def question():
        that = Lot.objects.filter(pk=OuterRef("pk"), code=Given("code", CharField()))
        rows = Lot.objects.select_related("item").annotate(loud=Upper("code"), is_it=Exists(that))
        return rows.filter(movements__at__lte=Given("at", DateTimeField())).order_by("id")

    asked = Prepared(question)
    with django_assert_num_queries(1):
        (found,) = asked(code=lot.code, at=clock.now())
        assert found.item == lot.item
    assert (found, found.loud, found.is_it, found.received_on) == (lot, lot.code.upper(), True, lot.received_on)
    assert asked.first(code="another", at=clock.now()).is_it is False
    assert asked(code=lot.code, at=datetime(1999, 1, 1, tzinfo=UTC)) == []


def test_values_and_lists_of_them(two):
    assert Prepared(lambda: by_sign_in().values("name"))(sign_in="first") == [{"name": "First"}]
    assert Prepared(lambda: by_sign_in().values_list("name", "role"))(sign_in="first") == [("First", "engineer")]
    assert Prepared(lambda: by_sign_in().values_list("made_at", flat=True))(sign_in="first") == [two[0].made_at]


def test_one_that_is_asked_for_by_its_key_is_there_or_is_missed(two):
    asked = Prepared(by_sign_in)
    assert asked.get(sign_in="second") == two[1]
    with pytest.raises(Person.DoesNotExist):
        asked.get(sign_in="third")


@pytest.mark.parametrize("given", [{}, {"sign_in": None}, {"other": "first"}])
def test_what_is_not_given_is_not_guessed(two, given):
    with pytest.raises(TypeError, match="sign_in"):
        Prepared(by_sign_in)(**given)


@pytest.mark.django_db(transaction=True)
def test_rows_are_held_inside_a_transaction_only(two):
    hold = Prepared(lambda: by_sign_in().select_for_update())
    with transaction.atomic():
        assert hold(sign_in="first") == [two[0]]
    with pytest.raises(transaction.TransactionManagementError):
        hold(sign_in="first")


@pytest.mark.django_db(transaction=True)
def test_each_thread_asks_by_its_own_connection(two):
    asked, came = Prepared(by_sign_in), []

    def ask():
        came.extend(asked(sign_in="first"))
        connection.close()

    with transaction.atomic():
        Person.objects.filter(pk=two[0].pk).update(name="Not for others yet")
        assert asked.first(sign_in="first").name == "Not for others yet"
        other = Thread(target=ask)
        other.start()
        other.join()
    assert [person.name for person in came] == ["First"]


def _made_at(moment, question):
    with at(moment):
        sql, params = question().query.sql_with_params()
    return sql, [(one.name, type(one.output_field)) if isinstance(one, Given) else one for one in params]


@pytest.mark.parametrize("zone", ["Pacific/Auckland"])
def test_the_houses_questions_depend_on_nothing_that_changes(room_row, zone):
    for module in pkgutil.walk_packages(shop.__path__, "shop."):
        if ".migrations" not in module.name and module.name not in ("shop.wsgi", "shop.settings"):
            importlib.import_module(module.name)
    assert len(prepared.QUESTIONS) > 15
    with transaction.atomic():
        for asked in prepared.QUESTIONS:
            then = _made_at("2025-03-03 08:10", asked.question)
            with clock.in_zone(zone):
                assert _made_at("2027-11-05 23:50", asked.question) == then, asked.question


def test_that_check_can_fail():
    moment = Prepared(lambda: Person.objects.filter(made_at__lt=clock.now())).question
    assert _made_at("2025-03-03 08:10", moment) != _made_at("2027-11-05 23:50", moment)
    given = Prepared(lambda: Person.objects.filter(pk=Given("pk", IntegerField()))).question
    assert _made_at("2025-03-03 08:10", given) == _made_at("2027-11-05 23:50", given)
