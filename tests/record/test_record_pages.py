"""The record's pages: for owners, narrowed and leafed through in the database; the daily look; the command."""

import csv
import io
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import reverse

from shop import clock
from shop.appendonly import lift_guard, set_guard
from shop.people.opening import open_room
from shop.press.models import Line, RecordHead
from shop.record.concerns import TOPICS
from shop.record.looking import look_through
from shop.stock import actions as stock
from shop.topic import together
from tests.stock import makers


@pytest.fixture
def lines(owner, engineer):
    makers.make_supplier(engineer, "Quill & Sons")
    stock.add_defect(by=owner, once=uuid4(), name="Dust")
    return Line.objects


@pytest.fixture
def forged(lines):
    lift_guard(connection, "press_line")
    Line.objects.filter(number=1).update(who="Nobody")
    set_guard(connection, "press_line", "A line of the record is never changed")


def test_the_owner_reads_it_latest_first(lines, owner, client_of):
    page = client_of(owner).get(reverse("record:record")).content.decode()
    assert page.index("Add defect") < page.index("Add supplier")
    assert "Quill &amp; Sons" in page


@pytest.mark.parametrize("who", ["engineer", "assistant", "visitor"])
def test_it_is_the_owners_alone(lines, who, request, client_of):
    client = client_of(request.getfixturevalue(who))
    assert client.get(reverse("record:record")).status_code == 403
    assert client.get(reverse("record:line", args=[1])).status_code == 403
    assert client.get(reverse("carrying:export-list", args=["record", "csv"])).status_code == 403


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"words": "quill"}, ["stock.add_supplier"]),
        ({"act": "stock.add_defect"}, ["stock.add_defect"]),
        ({"since": "1 Jan 2100"}, []),
        ({"words": "no such word"}, []),
    ],
)
def test_it_is_narrowed(lines, owner, client_of, query, found):
    page = client_of(owner).get(reverse("record:record"), query)
    assert [line.act for line in page.context["leaf"].rows] == found


def test_it_is_narrowed_to_a_person(lines, owner, engineer, client_of):
    page = client_of(owner).get(reverse("record:record"), {"by": engineer.pk})
    assert [line.by for line in page.context["leaf"].rows] == [engineer]


def test_a_line_tells_what_was_given_and_what_differed(owner, engineer, client_of):
    lot = makers.make_lot(engineer, makers.make_item(engineer), quantity=10)
    stock.spoil_stock(by=engineer, once=uuid4(), lot=lot, quantity=3, defect=makers.make_defect(engineer, "Dropped"))
    line = Line.objects.latest("number")
    page = client_of(owner).get(reverse("record:line", args=[line.number])).content.decode()
    assert "Spoil stock" in page
    assert "on hand" in page
    assert "Dropped" in page
    assert line.digest in page
    assert client_of(owner).get(reverse("record:line", args=[99_999])).status_code == 404


def test_queries_do_not_grow_with_it(owner, engineer, client_of, django_assert_max_num_queries):
    for number in range(60):
        stock.add_defect(by=engineer, once=uuid4(), name=f"Defect {number}")
    client = client_of(owner)
    with django_assert_max_num_queries(12):
        page = client.get(reverse("record:record"))
    assert page.context["leaf"].older


def test_it_is_carried_away_with_its_digests(lines, owner, client_of):
    answer = client_of(owner).get(reverse("carrying:export-list", args=["record", "csv"]))
    rows = list(csv.DictReader(io.StringIO(b"".join(answer).decode("utf-8-sig"))))
    assert [row["Digest"] for row in rows] == list(lines.order_by("number").values_list("digest", flat=True))


def test_the_daily_look_keeps_what_it_found(lines, forged):
    assert "line 1 does not say" in look_through()
    assert RecordHead.objects.get().fault.startswith("line 1")
    (worry,) = together(TOPICS, clock.now())
    assert worry.key == "record:broken"
    assert "line 1 does not say" in worry.reason


def test_a_sound_record_worries_nobody(lines):
    assert look_through() == "holds to line 2"
    assert RecordHead.objects.get().looked_at == 2
    assert list(together(TOPICS, clock.now())) == []


def test_a_fault_that_was_put_back_is_forgotten(lines, forged):
    look_through()
    name = Line.objects.get(number=1).by.name
    lift_guard(connection, "press_line")
    Line.objects.filter(number=1).update(who=name)
    set_guard(connection, "press_line", "A line of the record is never changed")
    look_through()
    assert list(together(TOPICS, clock.now())) == []


def test_the_command_says_that_it_holds(lines, capsys):
    call_command("check_record")
    assert "2 lines" in capsys.readouterr().out


def test_the_command_fails_on_a_forged_line(lines, forged):
    with pytest.raises(CommandError, match="line 1 does not say"):
        call_command("check_record")


def test_the_command_compares_with_what_was_noted(lines):
    noted = lines.get(number=2)
    call_command("check_record", noted=f"2:{noted.digest[:16]}")
    with pytest.raises(CommandError, match="written anew"):
        call_command("check_record", noted=f"1:{noted.digest[:16]}")
    for wrong in ("2", "two:0123456789abcdef", "2:0123"):
        with pytest.raises(CommandError, match="Give it as"):
            call_command("check_record", noted=wrong)


@pytest.mark.django_db
def test_opening_a_room_is_its_first_line():
    owner = open_room(
        name="Upper Room",
        zone="Europe/Lisbon",
        units="metric",
        owner_name="Osric Bellow",
        sign_in="osric",
        password="seven herons over the weir",
    )
    line = Line.objects.get()
    assert (line.number, line.by, line.act) == (1, owner, "people.open_room")
