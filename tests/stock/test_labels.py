"""Labels: what they say, how a sheet is filled, and that a reader of another make reads their codes off the paper."""

import subprocess
from io import BytesIO

import pypdf
import pytest
import zxingcpp
from django.urls import reverse
from PIL import Image

from shop import codes
from shop.stock import actions, labels
from shop.stock.models import Item
from tests.stock.makers import day, make_item, make_liquid, make_lot, make_supplier, once

pytestmark = pytest.mark.django_db

#: What a plain label printer prints, in dots an inch.
PRINTER_DPI = 203


@pytest.fixture
def shelf(engineer):
    supplier = make_supplier(engineer)
    item = make_item(engineer, "14-inch blank, matt", supplier=supplier)
    Item.objects.filter(pk=item.pk).update(place="Cupboard 2, left")
    item.refresh_from_db()
    lots = [
        make_lot(engineer, item, 5, code=f"K-{n:03}", supplier=supplier, made_on=day("2025-01-02"))
        for n in range(1, 31)
    ]
    return item, lots


def sheet(client, what, query, **headers):
    answer = client.get(reverse(f"stock:{what}-labels-pdf") + query, **headers)
    assert answer.status_code == 200, answer.content[:2000]
    assert answer["Content-Type"] == "application/pdf"
    return answer.content


def pictures(pdf, tmp_path):
    """The pages as a printer of labels would put them down: black or white, 203 dots an inch."""
    (tmp_path / "sheet.pdf").write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-r", str(PRINTER_DPI), "-mono", tmp_path / "sheet.pdf", tmp_path / "page"],
        check=True,
        timeout=120,
    )
    return [Image.open(file).convert("L") for file in sorted(tmp_path.glob("page*"))]


def read(page):
    return [found.text for found in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)]


def words(pdf):
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(BytesIO(pdf)).pages]


@pytest.mark.parametrize(("paper", "on_a_sheet"), [("A4", 24), ("Letter", 30)])
def test_every_code_of_a_sheet_is_read_back_from_its_picture(
    client_of, engineer, shelf, tmp_path, settings, paper, on_a_sheet
):
    settings.ALLOWED_HOSTS = ["cutting-room.local"]
    _, lots = shelf
    query = "?" + "&".join(f"lot={lot.pk}" for lot in lots) + f"&copies=1&paper={paper}&start=1"
    made = sheet(client_of(engineer), "lot", query, headers={"host": "cutting-room.local:8000"})
    pages = pictures(made, tmp_path)
    there = [read(page) for page in pages]
    assert [len(page) for page in there] == ([24, 6] if on_a_sheet == 24 else [30])
    expected = sorted(f"http://cutting-room.local:8000{lot.get_absolute_url()}" for lot in lots)
    assert sorted(code for page in there for code in page) == expected


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_longest_address_is_still_read(client_of, engineer, shelf, tmp_path, settings, paper):
    name = "the-cutting-room-of-the-old-tannery.workshops.example"
    settings.ALLOWED_HOSTS = [name]
    _, lots = shelf
    made = sheet(
        client_of(engineer),
        "lot",
        f"?lot={lots[0].pk}&copies=3&paper={paper}&start=1",
        headers={"host": f"{name}:65535"},
    )
    assert read(pictures(made, tmp_path)[0]) == [f"http://{name}:65535{lots[0].get_absolute_url()}"] * 3


def test_a_code_is_one_path_with_four_modules_of_quiet_around_it():
    drawn = codes.draw("http://127.0.0.1:8000/stock/lots/1/")
    assert drawn.count("<path") == 1
    assert "<rect" not in drawn
    assert 'd="M4 4.5h7' in drawn  # its first corner stands four modules in, and four down


def test_a_lot_label_says_what_one_wants_to_know(client_of, engineer, shelf):
    _, lots = shelf
    made = sheet(client_of(engineer), "lot", f"?lot={lots[0].pk}&copies=1&paper=A4&start=1")
    (text,) = words(made)
    for said in ("14-inch blank, matt", "14 inch", "K-001", "made 2 Jan 2025", "no date"):
        assert said in text
    assert "place Cupboard 2, left" in text
    assert "testserver" in text  # the code in words
    assert lots[0].get_absolute_url() in text


def test_a_lot_without_a_day_of_making_says_when_it_came(engineer):
    lot = make_lot(engineer, make_liquid(engineer), 500, received_on=day("2025-02-03"), best_before=day("2031-05-06"))
    label = labels.lot_label(lot, "http://x/")
    assert label.facts == (("came in", "3\u00a0Feb\u00a02025"), ("usable through", "6\u00a0May\u00a02031"))
    assert label.size == ""


def test_a_lot_on_hold_says_so_on_its_label_and_no_day_is_parted(client_of, engineer, tmp_path):
    item = make_item(engineer, "14-inch blank")
    lot = make_lot(engineer, item, 5, code="K-1", best_before=day("2028-03-25"))
    assert ("on hold", "") not in labels.lot_label(lot, "http://x/").facts
    actions.hold_lot(by=engineer, once=once(), lot=lot, why="cracked")
    made = sheet(client_of(engineer), "lot", f"?lot={lot.pk}&copies=1&paper=A4&start=1")
    (page,) = pypdf.PdfReader(BytesIO(made)).pages
    lines = [line.replace("\u00a0", " ").strip() for line in page.extract_text().splitlines()]
    assert "on hold" in lines
    assert any(line.endswith("25 Mar 2028") for line in lines), lines


def test_a_shelf_label_opens_the_item(client_of, engineer, shelf, tmp_path):
    item, _ = shelf
    made = sheet(client_of(engineer), "shelf", f"?item={item.pk}&copies=1&paper=A4&start=1")
    assert read(pictures(made, tmp_path)[0]) == [f"http://testserver{item.get_absolute_url()}"]
    assert "Cupboard 2, left" in words(made)[0]


def test_labels_used_up_are_left_out():
    a, b = (labels.Label("http://x/", name) for name in "ab")
    grid = labels.Grid(2, 2)
    assert labels.sheets([a, b], copies=2, start=3, grid=grid) == [[None, None, a, a], [b, b]]
    assert labels.sheets([a], copies=1, start=1, grid=grid) == [[a]]
    assert labels.sheets([a], copies=1, start=4, grid=grid) == [[None, None, None, a]]


def test_a_sheet_that_is_partly_used_starts_further_on(client_of, engineer, shelf, tmp_path):
    _, lots = shelf
    made = sheet(client_of(engineer), "lot", f"?lot={lots[0].pk}&copies=1&paper=A4&start=24")
    page = pictures(made, tmp_path)[0]
    (found,) = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
    assert found.position.top_left.x > page.width * 0.6
    assert found.position.top_left.y > page.height * 0.8


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("copies=0&paper=A4&start=1", "below 1"),
        ("copies=1&paper=A4&start=25", "A sheet of A4 has 24 labels."),
        ("copies=1&paper=Letter&start=31", "above 30"),
        ("copies=1&paper=A0&start=1", "not on the list"),
        ("copies=&paper=A4&start=1", "Fill this in."),
        ("copies=99&paper=A4&start=1", "at most 480"),
    ],
)
def test_what_cannot_be_printed_is_refused(client_of, engineer, shelf, wrong, said):
    _, lots = shelf
    query = "&".join(f"lot={lot.pk}" for lot in lots)
    answer = client_of(engineer).get(reverse("stock:lot-labels-pdf") + f"?{query}&{wrong}")
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_nothing_chosen_leads_to_choosing(client_of, engineer, shelf):
    client = client_of(engineer)
    for what in ("lot", "shelf"):
        assert client.get(reverse(f"stock:{what}-labels-pdf")).url == reverse(f"stock:{what}-labels")
    answer = client.get(reverse("stock:lot-labels-pdf") + "?lot=999999&copies=1&paper=A4&start=1")
    assert answer.status_code == 422
    for nonsense in (
        "?lot=x",
        "?lot=%00",
        "?with=x",
        "?with=99999",
        "?item=x",
        "?since=x",
        "?lot=99999999999999999999",
    ):
        assert client.get(reverse("stock:lot-labels") + nonsense).status_code == 200


def test_lots_are_chosen_by_item_by_delivery_or_one_by_one(client_of, engineer, shelf, monkeypatch):
    item, lots = shelf
    other = make_lot(engineer, make_liquid(engineer), 100, code="Z9", received_on=day("2025-02-01"))
    fellow = make_lot(engineer, item, 1, code="Z8", received_on=day("2025-02-01"))
    client = client_of(engineer)

    def offered(query):
        form = client.get(reverse("stock:lot-labels") + query).context["form"]
        return {lot.code for lot in form.fields["lot"].queryset}

    assert offered("") == set()
    assert offered(f"?lot={other.pk}") == {"Z9"}
    assert offered(f"?with={other.pk}") == {"Z9", "Z8"}
    assert offered(f"?item={item.pk}") == {lot.code for lot in lots} | {"Z8"}
    assert offered(f"?with={lots[0].pk}") == {lot.code for lot in lots}
    assert offered("?which=") == {lot.code for lot in (*lots, other, fellow)}
    assert "are offered at once" not in client.get(reverse("stock:lot-labels") + "?which=").content.decode()
    monkeypatch.setattr("shop.stock.views.labels._MOST_OFFERED", 3)
    assert len(offered("?which=")) == 3
    assert "At most 3 lots are offered at once" in client.get(reverse("stock:lot-labels") + "?which=").content.decode()


def test_the_page_says_which_address_is_in_the_codes(client_of, engineer, shelf, settings, monkeypatch):
    settings.ALLOWED_HOSTS = ["localhost", "192.0.2.7", "cutting-room.local"]
    monkeypatch.setattr("shop.codes.own_addresses", lambda: ["elsewhere", "192.0.2.7"])
    client, address = client_of(engineer), reverse("stock:shelf-labels")
    text = client.get(address, headers={"host": "cutting-room.local"}).content.decode()
    assert "http://cutting-room.local," in text
    assert "this machine and no other" not in text
    text = client.get(address, headers={"host": "localhost:8000"}).content.decode()
    assert "http://localhost:8000," in text
    assert "this machine and no other" in text
    assert f'href="http://192.0.2.7:8000{address}"' in text
    settings.LATHESIDE_ADDRESS = "https://cutting-room.local"
    text = client.get(address, headers={"host": "localhost:8000"}).content.decode()
    assert f'href="https://cutting-room.local{address}"' in text
    assert "elsewhere" not in text


def test_the_list_of_lots_narrows_and_sorts(client_of, engineer, shelf):
    item, _ = shelf
    client = client_of(engineer)

    def codes(query):
        return [row.record.code for row in client.get(reverse("stock:lots") + query).context["table"].paginated_rows]

    assert codes("?code=k-01&sort=code") == [f"K-{n:03}" for n in range(10, 20)]
    assert codes("?code=k-01&sort=-code")[0] == "K-019"
    assert codes("?which=empty") == []
    assert codes("?which=held") == []
    assert codes("?which=past") == []
    assert len(codes(f"?item={item.pk}&which=all")) == 30
    assert codes("?since=2035-01-01") == []
    assert codes("?sort=-supplier&code=030") == ["K-030"]
