"""What of stock is carried away: what comes in again, and what stands in each list."""

import io
import re
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import openpyxl
import pytest
from django.urls import reverse

from shop import clock
from shop.stock import actions
from shop.stock.actions.counts import Explained
from shop.stock.models import IntakeState, Item, Lot, SheetKind, Supplier
from tests.carrying.files import export, lines, read_csv, read_xlsx
from tests.stock.makers import (
    day,
    enter_count,
    make_count,
    make_given,
    make_item,
    make_liquid,
    make_lot,
    make_order,
    make_sent,
    make_supplier,
    use,
    used_weekly,
)
from tests.stock.sheets.makers import LOTS, send, take_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def shelf(engineer, claimed, at):
    """Blanks nearly gone, a liquid that lasts, and a part of which nothing is known."""
    with at("2025-10-01 08:00"):
        supplier = make_supplier(engineer, "Quillmoor", lead_days=30)
        blank, liquid = make_item(engineer, "Foil", supplier=supplier), make_liquid(engineer, supplier=supplier)
        make_item(engineer, "Hose", kind="part")
        used_weekly(engineer, blank, weekly=3, left=9)
        used_weekly(engineer, liquid, weekly=50, left=5000)
        yield


def test_what_goes_out_can_come_in_again(client_of, engineer, at):
    supplier = make_supplier(engineer, lead_days=42, contact="+44 20 7946 0000", note="=cmd|' /C calc'!A0")
    item = make_item(engineer, supplier=supplier, minimum=4, shelf_days=365, note="- the good ones")
    with at("2025-03-03 10:00"):
        lot = make_lot(engineer, item, 9, code="-12", supplier=supplier, unit_cost=Decimal("21.5"))
        held = make_lot(engineer, make_liquid(engineer), 2500, code="@7", best_before=day("2031-02-03"))
        actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="cloudy")
    client = client_of(engineer)
    for ending in ("csv", "xlsx"):
        out = {kind: export(client, kind, ending) for kind in ("suppliers", "items", "lots")}
        before = {kind: model.objects.order_by("pk").values() for kind, model in MODELS.items()}
        before = {kind: [dict(row) for row in rows] for kind, rows in before.items()}
        for kind in out:
            intake = send(engineer, SheetKind(kind), out[kind], f"{kind}.{ending}")
            assert (intake.state, intake.new) == (IntakeState.READY, 0), intake.told
        fresh = {"suppliers": b"Quill", "items": b"10-inch blank", "lots": b"-13"}
        assert before["lots"][0]["code"] == lot.code
        if ending == "csv":
            changed = out["lots"].replace(b"'-12", b"'-13").replace(b"-12", fresh["lots"])
            intake = take_in(engineer, send(engineer, LOTS, changed))
            assert (intake.new, intake.kept) == (1, 1)
            assert Lot.objects.filter(code="-13", unit_cost=Decimal("21.5"), supplier=supplier).exists()


MODELS = {"suppliers": Supplier, "items": Item, "lots": Lot}


def test_cells_that_begin_like_a_formula_are_made_harmless_and_numbers_stay_numbers(client_of, engineer):
    for text in ("=1+1", "+A1", "-A1", "@SUM(A1)", "\uff1d1+1"):
        make_supplier(engineer, text, note="-3")
    client = client_of(engineer)
    rows = read_csv(export(client, "suppliers"))[1:]
    assert sorted(row[0] for row in rows) == sorted(["'=1+1", "'+A1", "'-A1", "'@SUM(A1)", "'\uff1d1+1"])
    assert {row[4] for row in rows} == {"-3"}
    book = openpyxl.load_workbook(io.BytesIO(export(client, "suppliers", "xlsx")))
    kinds = {cell.data_type for row in book.worksheets[0].iter_rows() for cell in row if cell.value is not None}
    assert "f" not in kinds


def test_the_ledger_goes_out_as_it_is_narrowed(client_of, engineer, at):
    item, other = make_item(engineer), make_liquid(engineer)
    with at("2025-07-03 23:30"):
        lot = make_lot(engineer, item, 50, code="A")
        make_lot(engineer, other, 500, code="B")
        use(engineer, lot, 3)
    client = client_of(engineer)
    rows = read_csv(export(client, "ledger"))
    assert len(rows) == 4
    line = dict(zip(rows[0], rows[3], strict=True))
    assert (line["When"], line["Change"], line["Left once entered"]) == (
        "2025-07-03 23:30",
        "-3",
        "47",
    )  # the room's clock
    assert len(read_csv(export(client, "ledger", query=f"?item={other.pk}"))) == 2
    assert len(read_csv(export(client, "ledger", query="?kind=used"))) == 2
    sheet = read_xlsx(export(client, "ledger", "xlsx", query="?kind=used"))
    assert sheet[1][7] == -3
    assert str(sheet[1][1]) == "2025-07-03 23:30:00"


def test_lots_and_items_go_out_as_they_are_narrowed(client_of, engineer):
    item = make_item(engineer, minimum=4)
    make_lot(engineer, item, 9, code="K1", best_before=clock.today() + timedelta(days=40))
    make_lot(engineer, item, 2, code="K2")
    client = client_of(engineer)
    assert [row[2] for row in read_csv(export(client, "lots", query="?code=k2"))] == ["Lot", "K2"]
    (row,) = read_csv(export(client, "items"))[1:]
    assert row[0] == "14-inch blank"
    assert row[-4:] == ["11", "11", "0", "0"]
    assert len(read_csv(export(client, "items", query="?kind=liquid"))) == 1


def test_in_and_out_carries_whole_lists_away(client_of, engineer):
    item, gone = make_item(engineer), make_liquid(engineer)
    Item.objects.filter(pk=gone.pk).update(is_active=False)
    use(engineer, make_lot(engineer, item, 2, code="K2"), 2)
    make_lot(engineer, item, 9, code="K1")
    supplier = make_supplier(engineer)
    dropped = make_order(engineer, (item, 5), supplier=supplier)
    actions.drop_order(by=engineer, once=uuid4(), order=dropped, why="a mistake")
    client = client_of(engineer)
    page = client.get(reverse("stock:in-and-out")).content.decode()
    out = {}
    for name in ("items", "lots", "orders"):
        (address,) = re.findall(rf'href="(/carry/{name}\.csv[^"]*)"', page)
        out[name] = b"".join(client.get(address).streaming_content)
    assert sorted(row[0] for row in read_csv(out["items"])[1:]) == sorted([item.name, gone.name])
    assert [row[2] for row in read_csv(out["lots"])[1:]] == ["K2", "K1"]
    assert [row[0] for row in read_csv(out["orders"])[1:]] == [str(dropped.pk)]
    assert len(read_csv(export(client, "orders"))) == 1
    # What is used up stays out where the list is taken in, and holds nothing up.
    intake = send(engineer, LOTS, out["lots"].replace(b"K1", b"K3").replace(b"K2", b"K4"))
    assert (intake.state, intake.new) == (IntakeState.READY, 1)
    assert "Nothing is left of that lot" in str(intake.told)


def test_each_list_offers_to_be_carried_away(client_of, engineer):
    make_lot(engineer, make_item(engineer), 5)
    client = client_of(engineer)
    for name, query in (("items", "?kind=blank"), ("lots", "?code=x"), ("ledger", "?kind=used"), ("suppliers", "")):
        page = client.get(reverse(f"stock:{name}") + query).content.decode()
        assert f'href="/carry/{name}.csv{query}"' in page, name


def test_the_outlook_goes_out_with_the_figures_of_its_page(client_of, visitor, shelf):
    client = client_of(visitor)
    blank, part, liquid = lines(client, "outlook")
    assert [blank["Item"], part["Item"], liquid["Item"]] == ["Foil", "Hose", "Wiping solvent"]
    assert (blank["Order now"], blank["Order by"], blank["Usable"]) == ("yes", "2025-10-01", "9")
    assert (liquid["Order now"], liquid["Unit"], liquid["Weeks of use known"]) == ("no", "ml", "40")
    assert (part["Known"], part["Order by"], part["Expected use a week"]) == ("no use known yet", "", "")
    assert [line["Item"] for line in lines(client, "outlook", "?kind=liquid")] == ["Wiping solvent"]
    page = client.get(reverse("stock:outlook") + "?kind=liquid").content.decode()
    assert 'href="/carry/outlook.csv?kind=liquid"' in page


def test_a_count_goes_out_once_it_is_given_in_and_not_before(client_of, engineer, visitor):
    item = make_item(engineer)
    for code, there in (("A", 10), ("B", 5), ("C", 7)):
        make_lot(engineer, item, there, code=code)
    blind = enter_count(engineer, make_count(engineer), A=9)
    client = client_of(visitor)
    assert lines(client, "count-lines") == []  # who counts shall not know what is expected
    assert "/carry/count-lines" not in client.get(blind.get_absolute_url()).content.decode()
    given = make_given(engineer, A=9, B=5)
    query = f"?count={given.pk}"
    assert f'href="/carry/count-lines.csv{query}"' in client.get(given.get_absolute_url()).content.decode()
    found = lines(client, "count-lines", query)
    told = ("Lot", "Counted", "The ledger said", "Difference", "Why", "By")
    assert [tuple(line[name] for name in told) for line in found] == [
        ("A", "9", "10", "-1", "", engineer.name),
        ("B", "5", "5", "0", "", engineer.name),
        ("C", "", "", "", "", ""),
    ]
    actions.explain_count(
        by=engineer, once=uuid4(), count=given, reasons=[Explained(given.lines.get(lot__code="A"), "one broke")]
    )
    actions.agree_count(by=engineer, once=uuid4(), count=given, sure=["own-count"])
    use(engineer, Lot.objects.get(code="A"), 3)  # what comes later changes nothing of what was signed
    found = lines(client, "count-lines", query)
    assert [tuple(line[name] for name in told[:5]) for line in found][:2] == [
        ("A", "9", "10", "-1", "one broke"),
        ("B", "5", "5", "0", ""),
    ]
    assert [(line["Count"], line["State"]) for line in lines(client, "counts")] == [
        (str(blind.pk), "Being counted"),
        (str(given.pk), "Agreed"),
    ]


def test_a_supplier_s_orders_go_out_from_its_page(client_of, engineer, visitor):
    item = make_item(engineer)
    make_sent(engineer, (item, 20), supplier=make_supplier(engineer, "Faraway", lead_days=9))
    mine = make_supplier(engineer, "Quill")
    dropped = make_order(engineer, (item, 5), supplier=mine)
    actions.drop_order(by=engineer, once=uuid4(), order=dropped, why="a mistake")
    client = client_of(visitor)
    page = client.get(mine.get_absolute_url()).content.decode()
    (query,) = re.findall(r'href="/carry/orders\.csv([^"]*)"', page)
    assert [line["Order"] for line in lines(client, "orders", query.replace("&amp;", "&"))] == [str(dropped.pk)]
