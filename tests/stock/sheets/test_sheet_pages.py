"""The pages of in and out: sending a file, what it holds, taking it in, and the lists carried away."""

import csv
import io
import re
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from shop import clock
from shop.paging import walk
from shop.stock import actions
from shop.stock.models import Intake, IntakeState, Item, Lot, Movement, PastUse, SheetKind, Supplier
from shop.stock.sheets import files, work, writing
from shop.stock.sheets.columns import SHEETS
from shop.stock.sheets.exports import EXPORTS
from tests.stock.makers import day, make_item, make_liquid, make_lot, make_order, make_supplier, use
from tests.stock.sheets.makers import LOTS, PAST_USE, SUPPLIERS, as_csv, send, take_in

pytestmark = pytest.mark.django_db


def post_file(client, kind, content, name="list.csv", **more):
    typed = {"once": str(uuid4()), "file": SimpleUploadedFile(name, content)} | more
    return client.post(reverse("stock:send-sheet", args=[kind]), typed)


def export(client, name, ending="csv", query=""):
    answer = client.get(reverse("stock:export-list", args=[name, ending]) + query)
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == f'attachment; filename="{name}-{clock.today()}.{ending}"'
    return b"".join(answer.streaming_content)


def read_csv(content):
    assert content.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def read_xlsx(content):
    return [list(row) for row in openpyxl.load_workbook(io.BytesIO(content)).worksheets[0].values]


# In -------------------------------------------------------------------------------------------------------------------


def test_a_file_is_sent_looked_at_and_taken_in(client_of, engineer):
    client = client_of(engineer)
    page = client.get(reverse("stock:send-sheet", args=["suppliers"])).content.decode()
    assert "Promised lead time, days" in page
    assert 'enctype="multipart/form-data"' in page
    answer = post_file(client, "suppliers", as_csv("Supplier,Lead days", "Quill,42"))
    intake = Intake.objects.get()
    assert answer.url == intake.get_absolute_url()
    page = client.get(answer.url).content.decode()
    assert "Take in 1 row<" in page
    assert "Quill" in page
    done = client.post(reverse("stock:take-in-sheet", args=[intake.pk]), {"once": str(uuid4())})
    assert done.url == intake.get_absolute_url()
    assert "1 row." in client.get(done.url).content.decode()
    assert Supplier.objects.get().lead_days == 42
    again = client.post(reverse("stock:take-in-sheet", args=[intake.pk]), {"once": str(uuid4())})
    assert again.status_code == 422
    assert Supplier.objects.count() == 1


def test_the_same_press_twice_is_one_intake(client_of, engineer):
    client, token = client_of(engineer), str(uuid4())
    for _ in range(2):
        answer = post_file(client, "suppliers", as_csv("Supplier", "Quill"), once=token)
        assert answer.status_code == 302
    assert Intake.objects.count() == 1
    other = post_file(client, "suppliers", as_csv("Supplier", "Other"), once=token)
    assert other.status_code == 409


def test_faults_are_listed_with_row_and_column(client_of, engineer):
    client = client_of(engineer)
    answer = post_file(client, "suppliers", as_csv("Supplier,Lead days", "A,x", "B,-1"))
    page = client.get(answer.url).content.decode()
    assert "Nothing was taken in: 2 cells of 2 rows are not right." in page
    assert "Row 2" in page
    assert "Row 3" in page
    assert "Lead days" in page
    assert "Send it again" in page


def test_a_question_is_asked_on_the_page_and_answered_there(client_of, engineer):
    client = client_of(engineer)
    answer = post_file(client, "suppliers", as_csv("Supplier", "Größe", encoding="cp1252"))
    page = client.get(answer.url).content.decode()
    assert "Which of these reads right?" in page
    address = answer.url + "answer/"
    refused = client.post(address, {"once": str(uuid4())})
    assert refused.status_code == 422
    assert "Error:" in refused.content.decode()
    assert client.post(address, {"once": str(uuid4()), "encoding": "cp1252"}).url == answer.url
    assert Intake.objects.get().state == IntakeState.READY


def test_the_very_same_file_is_known_again(client_of, engineer):
    content = as_csv("Supplier", "Quill")
    take_in(engineer, send(engineer, SUPPLIERS, content))
    client = client_of(engineer)
    page = client.get(post_file(client, "suppliers", content).url).content.decode()
    assert "This very file was taken in on" in page
    assert "Nothing in it is new here." in page
    assert "stock/in-and-out/files" in page
    assert "Take in" not in page.partition("<main")[2].replace("Taken in", "")


@pytest.mark.parametrize(
    ("typed", "said"),
    [({"file": ""}, "Choose a file."), ({"file": SimpleUploadedFile("x.csv", b"")}, "That file is empty.")],
)
def test_no_file_is_refused(client_of, engineer, typed, said):
    answer = client_of(engineer).post(reverse("stock:send-sheet", args=["items"]), {"once": str(uuid4())} | typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_a_file_that_is_too_large_is_refused(client_of, engineer, monkeypatch):
    monkeypatch.setattr(files, "MOST_BYTES", 1000)
    answer = post_file(client_of(engineer), "suppliers", as_csv("Supplier", "A" * 2000))
    assert answer.status_code == 422
    assert "larger than" in answer.content.decode()


def test_what_was_sent_is_shown_as_text(client_of, engineer):
    client = client_of(engineer)
    bad = "<script>alert(1)</script>"
    answer = post_file(client, "suppliers", as_csv("Supplier,Lead days", f"{bad},{bad}"), name=f"{bad}.csv")
    page = client.get(answer.url).content.decode()
    assert bad not in page
    assert "&lt;script&gt;" in page


def test_a_large_file_is_worked_off_in_the_background(client_of, engineer, monkeypatch):
    asked = []
    monkeypatch.setattr("shop.stock.actions.sheets.soon", asked.append)
    monkeypatch.setattr("shop.stock.actions.sheets.AT_ONCE_BYTES", 10)
    monkeypatch.setattr("shop.stock.views.sheets.AT_ONCE_BYTES", 10)
    client = client_of(engineer)
    answer = post_file(client, "suppliers", as_csv("Supplier", "Quill"))
    page = client.get(answer.url).content.decode()
    assert "It waits for its turn" in page
    assert 'hx-trigger="every 1s"' in page
    assert "Look again" in page
    intake = Intake.objects.get()
    work._tell(intake, "checking")(12_000, 50_000)
    page = client.get(answer.url).content.decode()
    assert "12\u202f000 of 50\u202f000 rows" in page
    assert asked == [work.JOB]
    work.carry_on_all()
    page = client.get(answer.url).content.decode()
    assert "hx-trigger" not in page
    assert "Take in 1 row<" in page


def test_a_file_is_left(client_of, engineer):
    client = client_of(engineer)
    intake = send(engineer, SUPPLIERS, as_csv("Supplier", "Quill"))
    answer = client.post(reverse("stock:drop-sheet", args=[intake.pk]), {"once": str(uuid4())})
    assert answer.url == reverse("stock:in-and-out")
    assert "That file was left" in client.get(intake.get_absolute_url()).content.decode()


def test_past_use_is_taken_out_again(client_of, engineer):
    make_item(engineer)
    intake = take_in(engineer, send(engineer, PAST_USE, as_csv("Item,Week,Used", "14-inch blank,2020-03-02,4")))
    client = client_of(engineer)
    assert "Take it out again" in client.get(intake.get_absolute_url()).content.decode()
    client.post(reverse("stock:withdraw-past-use", args=[intake.pk]), {"once": str(uuid4())})
    assert PastUse.objects.count() == 0
    page = client.get(intake.get_absolute_url()).content.decode()
    assert "Take it out again" not in page
    assert "taken out again by Edvin Maarsk" in page


def test_others_carry_away_but_send_nothing(client_of, assistant, engineer):
    client = client_of(assistant)
    page = client.get(reverse("stock:in-and-out")).content.decode()
    assert "An engineer takes files in." in page
    assert "Send a file" not in page
    intake = send(engineer, SUPPLIERS, as_csv("Supplier", "Quill"))
    assert client.get(intake.get_absolute_url()).status_code == 403
    assert post_file(client, "suppliers", b"x").status_code == 403


@pytest.mark.parametrize("kind", SheetKind.values)
def test_templates_hold_the_headings_and_can_be_sent(client_of, engineer, kind):
    client = client_of(engineer)
    headings = [column.heading for column in SHEETS[SheetKind(kind)].columns]
    as_text = client.get(reverse("stock:sheet-template", args=[kind, "csv"]))
    assert as_text["Content-Disposition"] == f'attachment; filename="{kind}-template.csv"'
    assert read_csv(as_text.content) == [headings]
    book = client.get(reverse("stock:sheet-template", args=[kind, "xlsx"])).content
    assert read_xlsx(book) == [headings]
    told = list(openpyxl.load_workbook(io.BytesIO(book)).worksheets[1].values)
    assert [row[0] for row in told[1:]] == headings
    for content, name in ((as_text.content, "x.csv"), (book, "x.xlsx")):
        assert "no row under them" in send(engineer, SheetKind(kind), content, name).told["why"]


def test_what_there_is_not_is_not_found(client_of, engineer):
    client = client_of(engineer)
    for path in (
        "export/items.pdf",
        "export/people.csv",
        "template/items.pdf",
        "template/x.csv",
        "send/x/",
        "files/99/",
    ):
        assert client.get(f"/stock/in-and-out/{path}").status_code == 404, path


# Out ------------------------------------------------------------------------------------------------------------------


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


@pytest.mark.parametrize("text", ["\tx", "\rx", "\nx", "=x", "+x", "-x", "@x", "-3 boxes", "+44 20 7946", "--3", "=3"])
def test_each_beginning_is_made_harmless(text):
    assert writing.harmless(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-3", "+3", "-3.5", "-3,5", "x=1", "", "a-b", "'quoted"])
def test_what_is_no_formula_stays_as_it_is(text):
    assert writing.harmless(text) == text


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
    assert (line["When"], line["Change"], line["Left in lot"]) == ("2025-07-03 23:30", "-3", "47")  # the room's clock
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
    for name in EXPORTS:
        (address,) = re.findall(rf'href="(/stock/in-and-out/export/{name}\.csv[^"]*)"', page)
        out[name] = b"".join(client.get(address).streaming_content)
    assert sorted(row[0] for row in read_csv(out["items"])[1:]) == sorted([item.name, gone.name])
    assert [row[2] for row in read_csv(out["lots"])[1:]] == ["K2", "K1"]
    assert [row[0] for row in read_csv(out["orders"])[1:]] == [str(dropped.pk)]
    assert len(read_csv(export(client, "orders"))) == 1
    # What is used up stays out where the list is taken in, and holds nothing up.
    intake = send(engineer, LOTS, out["lots"].replace(b"K1", b"K3").replace(b"K2", b"K4"))
    assert (intake.state, intake.new) == (IntakeState.READY, 1)
    assert "Nothing is left of that lot" in str(intake.told)


def test_every_list_can_be_carried_away_also_empty(client_of, engineer):
    client = client_of(engineer)
    for name, kept in EXPORTS.items():
        assert read_csv(export(client, name)) == [list(kept.headings)]
        assert read_xlsx(export(client, name, "xlsx")) == [list(kept.headings)]


def test_a_workbook_of_too_many_rows_is_refused_with_a_way_on(client_of, engineer, monkeypatch):
    monkeypatch.setattr("shop.stock.sheets.exports.MOST_IN_WORKBOOK", 2)
    for name in "ABC":
        make_supplier(engineer, name)
    client = client_of(engineer)
    answer = client.get(reverse("stock:export-list", args=["suppliers", "xlsx"]))
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


def test_each_list_offers_to_be_carried_away(client_of, engineer):
    make_lot(engineer, make_item(engineer), 5)
    client = client_of(engineer)
    for name, query in (("items", "?kind=blank"), ("lots", "?code=x"), ("ledger", "?kind=used"), ("suppliers", "")):
        page = client.get(reverse(f"stock:{name}") + query).content.decode()
        assert f'href="/stock/in-and-out/export/{name}.csv{query}"' in page, name


def test_a_visitor_carries_away_too(client_of, visitor):
    assert export(client_of(visitor), "items")


def test_a_stranger_gets_nothing(room_row):
    assert Client().get(reverse("stock:export-list", args=["items", "csv"])).status_code == 302
