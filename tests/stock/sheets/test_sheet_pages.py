"""The pages of in and out: sending a file, what it holds, taking it in, and the lists carried away."""

import io
from uuid import uuid4

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from shop.stock.models import Intake, IntakeState, PastUse, SheetKind, Supplier
from shop.stock.sheets import files, work
from shop.stock.sheets.columns import SHEETS
from tests.carrying.files import read_csv, read_xlsx
from tests.stock.makers import make_item
from tests.stock.sheets.makers import PAST_USE, SUPPLIERS, as_csv, send, take_in

pytestmark = pytest.mark.django_db


def post_file(client, kind, content, name="list.csv", **more):
    typed = {"once": str(uuid4()), "file": SimpleUploadedFile(name, content)} | more
    return client.post(reverse("stock:send-sheet", args=[kind]), typed)


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
        "template/items.pdf",
        "template/x.csv",
        "send/x/",
        "files/99/",
    ):
        assert client.get(f"/stock/in-and-out/{path}").status_code == 404, path
