"""Every list of the house can be carried away, by whoever may look at its page, under that page's own filter."""

import io
import re

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse

from shop import clock
from shop.carrying import lists
from shop.paging import walk
from shop.people.models import ENGINEERS, HANDS, OWNERS, Role
from shop.stock.models import Movement
from tests.carrying.files import export, read_csv, read_xlsx
from tests.house.world import build
from tests.makers import make_person
from tests.stock.makers import make_item, make_lot, make_supplier, use

pytestmark = pytest.mark.django_db

#: The lists that only some may see, and the columns that only some may see of others.
GUARDED_LISTS = {
    "worth": ENGINEERS, "costs": ENGINEERS, "deliveries": OWNERS, "record": OWNERS, "sheets-read": ENGINEERS,
    "log": HANDS, "sign-offs": ENGINEERS, "enrolments": HANDS, "authorities": HANDS,
}  # fmt: skip
GUARDED_COLUMNS = {
    ("lots", "Price of one"): ENGINEERS,
    ("styli", "Edge cost"): ENGINEERS,
    ("orders", "Price of one"): ENGINEERS,
    ("cylinders", "Rent a month"): ENGINEERS,
    ("incidents", "By"): HANDS,
    ("incidents", "Who was hurt"): HANDS,
    ("authorities", "Why"): ENGINEERS,
    ("authorities", "Why taken back"): ENGINEERS,
    ("enrolments", "Why ended"): ENGINEERS,
}


def every_list():
    return [export for area in lists.areas(Role.OWNER).values() for export in area]


def test_the_lists_of_the_house_are_these(room_row):
    assert {export.name for export in every_list()} == {
        "items", "lots", "ledger", "past-use", "suppliers", "orders", "outlook", "counts", "count-lines", "defects",
        "worth", "bookings", "sides", "styli", "costs", "readings", "cylinders", "duties", "entries", "checks",
        "alerts", "deliveries", "record", "sheets-read", "incidents", "supplier-sheets", "authorities", "log",
        "programme-steps", "standing-tests", "explained-losses", "chip-stored", "chip-cans", "instruments",
        "noise-levels", "masters", "enrolments", "sign-offs",
        "containers", "levels",
        "line-baselines",
    }  # fmt: skip


def test_every_list_has_its_rows_in_both_kinds_of_file(client_of, owner):
    build(owner)
    client = client_of(owner)
    empty = []
    for kept in every_list():
        whole = f"?{kept.whole}"
        rows, sheet = (
            read_csv(export(client, kept.name, query=whole)),
            read_xlsx(export(client, kept.name, "xlsx", whole)),
        )
        assert rows[0] == sheet[0] == list(kept.headings), kept.name
        assert len(rows) == len(sheet), kept.name
        assert {len(row) for row in rows} == {len(kept.headings)}, kept.name
        if len(rows) == 1:
            empty.append(kept.name)
    assert empty == ["deliveries"]  # nobody there has an address to write to


def test_every_list_can_be_carried_away_also_empty(client_of, owner):
    client = client_of(owner)
    for kept in every_list():
        assert read_csv(export(client, kept.name)) == [list(kept.headings)]
        assert read_xlsx(export(client, kept.name, "xlsx")) == [list(kept.headings)]


@pytest.mark.parametrize("role", list(Role))
def test_who_may_see_a_list_may_carry_it_away_and_nobody_else(client_of, room_row, role):
    client = client_of(make_person("somebody", "Sun Body", role))
    offered = client.get(reverse("stock:in-and-out")).content.decode()
    for kept in every_list():
        answer = client.get(reverse("carrying:export-list", args=[kept.name, "csv"]))
        may = role in GUARDED_LISTS.get(kept.name, list(Role))
        assert answer.status_code == (200 if may else 403), kept.name
        assert (f"/carry/{kept.name}.csv" in offered) == may, kept.name


@pytest.mark.parametrize("role", list(Role))
def test_prices_who_was_hurt_and_why_are_for_some_only(client_of, room_row, role):
    client = client_of(make_person("somebody", "Sun Body", role))
    hidden = set()
    for kept in every_list():
        if role in GUARDED_LISTS.get(kept.name, list(Role)):
            shown = read_csv(export(client, kept.name))[0]
            assert read_xlsx(export(client, kept.name, "xlsx")) == [shown]
            hidden |= {(kept.name, heading) for heading in kept.headings if heading not in shown}
    assert hidden == {
        (name, heading)
        for (name, heading), roles in GUARDED_COLUMNS.items()
        if role not in roles and role in GUARDED_LISTS.get(name, list(Role))
    }


def test_no_cell_of_any_list_is_a_formula(client_of, owner):
    """Whatever people call things."""
    build(owner)
    make_supplier(owner, "=1+1", note="@SUM(A1)", contact="-A1")
    make_lot(owner, make_item(owner, "+blank"), 4, code="=HYPERLINK(1)", note="-2+3")
    client = client_of(owner)
    begun = set()
    for kept in every_list():
        book = openpyxl.load_workbook(io.BytesIO(export(client, kept.name, "xlsx", f"?{kept.whole}")))
        cells = [cell for row in book.worksheets[0].iter_rows() for cell in row if cell.value is not None]
        assert "f" not in {cell.data_type for cell in cells}, kept.name
        texts = [cell.value for cell in cells if isinstance(cell.value, str)]
        assert not [text for text in texts if re.match(r"[=+@\t\r]|-[^0-9]", text)], kept.name
        begun |= {text for text in texts if text.startswith("'")}
    assert {"'=1+1", "'@SUM(A1)", "'-A1", "'+blank", "'=HYPERLINK(1)", "'-2+3"} <= begun


def test_a_workbook_of_too_many_rows_is_refused_with_a_way_on(client_of, engineer, monkeypatch):
    monkeypatch.setattr("shop.carrying.lists.MOST_IN_WORKBOOK", 2)
    for name in "ABC":
        make_supplier(engineer, name)
    client = client_of(engineer)
    answer = client.get(reverse("carrying:export-list", args=["suppliers", "xlsx"]))
    assert answer.status_code == 422
    assert "Take it as CSV" in answer.content.decode()
    assert len(read_csv(export(client, "suppliers"))) == 4


def test_a_list_is_walked_in_batches_without_loss(engineer, django_assert_num_queries):
    lot = make_lot(engineer, make_item(engineer), 50)
    moment = clock.now()
    with clock.moved(moment):
        for quantity in range(1, 8):
            use(engineer, lot, quantity)
    with django_assert_num_queries(3):
        batches = list(walk(Movement.objects.all(), by=("at", "id"), size=3))
    assert [len(batch) for batch in batches] == [3, 3, 2]
    ids = [line.pk for batch in batches for line in batch]
    assert ids == list(Movement.objects.order_by("at", "id").values_list("pk", flat=True))
    assert list(walk(Movement.objects.none(), by=("id",))) == []


def test_every_list_says_the_same_in_batches_of_one(client_of, owner, monkeypatch):
    build(owner)
    client = client_of(owner)
    whole = {kept.name: export(client, kept.name, query=f"?{kept.whole}") for kept in every_list()}
    monkeypatch.setattr("shop.carrying.lists.walk", lambda rows, *, by: walk(rows, by=by, size=1))
    for kept in every_list():
        assert export(client, kept.name, query=f"?{kept.whole}") == whole[kept.name], kept.name


def test_what_there_is_not_is_not_found_and_nothing_is_posted(client_of, engineer):
    client = client_of(engineer)
    for path in ("items.pdf", "people.csv", "items", "items.CSV"):
        assert client.get(f"/carry/{path}").status_code == 404, path
    assert client.post(reverse("carrying:export-list", args=["items", "csv"])).status_code == 405


def test_a_stranger_gets_nothing(room_row):
    for kept in every_list():
        assert Client().get(reverse("carrying:export-list", args=[kept.name, "csv"])).status_code == 302
