"""Every action leaves a line in the record, in its own transaction; a change from outside shows."""

import json
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from shop import clock
from shop.appendonly import lift_guard, set_guard
from shop.people import actions as people
from shop.people.models import HANDS
from shop.press import record
from shop.press.action import action
from shop.press.models import Line, RecordHead
from shop.refusal import Refused
from shop.stock import actions as stock
from shop.stock.models import Supplier
from tests.makers import PASSWORD, together
from tests.stock import makers


@pytest.fixture
def three(engineer):
    """Three lines, each of a supplier."""
    for name in ("Quill & Sons", "Tern Supply", "Vale Works"):
        makers.make_supplier(engineer, name)
    return list(Line.objects.order_by("number"))


@pytest.fixture
def from_outside():
    """Runs SQL on the record as somebody does who takes its guard away first."""

    def run(statement, *values):
        lift_guard(connection, "press_line")
        with connection.cursor() as cursor:
            cursor.execute(statement, values)
        set_guard(connection, "press_line", "A line of the record is never changed")

    return run


def test_an_action_writes_who_what_and_when(engineer, at):
    with at("2026-03-02 09:30"):
        now = clock.now()
        supplier = makers.make_supplier(engineer, "Quill & Sons", lead_days=12)
    line = Line.objects.get()
    assert (line.number, line.by, line.who) == (1, engineer, engineer.name)
    assert line.act == "stock.add_supplier"
    assert (line.kind, line.ref) == ("stock.supplier", str(supplier.pk))
    assert line.thing == f"supplier {supplier.pk}: Quill & Sons"
    assert (line.given["name"], line.given["lead_days"]) == ("Quill & Sons", 12)
    assert line.before == record.BEGINNING
    assert line.at == now


def test_what_differed_is_told_from_and_to(engineer):
    lot = makers.make_lot(engineer, makers.make_item(engineer), quantity=10)
    stock.spoil_stock(by=engineer, once=uuid4(), lot=lot, quantity=3, defect=makers.make_defect(engineer, "Dropped"))
    (changed,) = Line.objects.order_by("-number")[0].changed.values()
    assert changed["on_hand"] == [10, 7]
    assert "version" not in changed


def test_a_refused_action_leaves_no_line(engineer):
    supplier = makers.make_supplier(engineer, "Quill & Sons")
    with pytest.raises(Refused):
        makers.make_supplier(engineer, supplier.name)
    assert Line.objects.count() == RecordHead.objects.get().number == 1


def test_the_same_press_twice_is_one_line(engineer):
    token = uuid4()
    for _ in range(2):
        stock.add_defect(by=engineer, once=token, name="Dust")
    assert Line.objects.count() == 1


def test_passwords_and_secrets_are_kept_back(owner):
    password = "seven herons over the weir"
    people.add_person(by=owner, once=uuid4(), name="Osric Bellow", sign_in="osric", role="assistant", password=password)
    people.change_password(by=owner, once=uuid4(), old_password=PASSWORD, password=password)
    told = " ".join(Line.objects.values_list("said", flat=True))
    assert password not in told
    assert PASSWORD not in told
    assert "argon2" not in told
    assert Line.objects.order_by("number")[0].given["password"] == record.HIDDEN


def test_lines_follow_from_each_other(three):
    assert [line.number for line in three] == [1, 2, 3]
    assert [line.before for line in three] == [record.BEGINNING, three[0].digest, three[1].digest]
    assert record.broken() is None


def test_the_database_refuses_to_change_or_remove_a_line(three):
    for statement in ("UPDATE press_line SET who = 'Nobody'", "DELETE FROM press_line"):
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)


@pytest.mark.parametrize("column", ["who", "act", "thing", "said", "kind", "ref"])
def test_a_changed_line_shows(three, from_outside, column):
    from_outside(f"UPDATE press_line SET {column} = 'something else' WHERE number = 2")
    assert record.broken() == record.Break(2, "line 2 does not say what it said when it was written")


def test_a_changed_moment_and_person_show(three, from_outside, owner):
    from_outside("UPDATE press_line SET by_id = %s WHERE number = 3", owner.pk)
    assert record.broken().number == 3


def test_a_removed_line_shows_wherever_it_was(three, from_outside):
    from_outside("DELETE FROM press_line WHERE number = 3")
    assert record.broken() == record.Break(3, "it ends at line 2, and went on to line 3 before")
    from_outside("DELETE FROM press_line WHERE number = 1")
    assert record.broken() == record.Break(1, "line 1 is missing")


def test_a_line_written_anew_does_not_fit_the_next(three, from_outside):
    forged = three[1]
    forged.who = "Nobody"
    from_outside("UPDATE press_line SET who = 'Nobody', digest = %s WHERE number = 2", record.digest_of(forged))
    assert record.broken() == record.Break(3, "line 3 does not follow from the line before it")


@pytest.mark.django_db(transaction=True)
def test_people_pressing_at_once_make_one_chain(engineer):
    def press(number):
        stock.add_defect(by=engineer, once=uuid4(), name=f"Defect {number}")

    together(*[lambda number=number: press(number) for number in range(8)])
    assert Line.objects.count() == 8
    assert record.broken() is None


@action(roles=HANDS)
def give_much(*, by, things):
    """An action for these tests, which is given what others are."""
    return Supplier.objects.create(name=str(len(str(things))))


def test_long_and_strange_things_are_kept_shortly(engineer):
    given = {"text": "x" * 1000, "set": {3, 1}, "secret": "word", "none": None, "share": 1e-7}
    give_much(by=engineer, once=uuid4(), things=given)
    line = Line.objects.get()
    kept = line.given["things"]
    assert kept["text"].startswith("xxx")
    assert kept["text"].endswith("… (1000 characters)")
    assert (kept["set"], kept["secret"], kept["none"]) == ([1, 3], record.HIDDEN, None)
    assert json.loads(line.said)["given"]["things"]["share"] == 1e-7
    assert record.broken() is None
