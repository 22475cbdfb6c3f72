"""The pages of a trace: the search, what it leads to, the paper, the export."""

from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from shop.cutting import actions
from shop.stock import actions as stock
from tests.carrying.files import lines
from tests.cutting.makers import address, cut, make_booking, once, text
from tests.stock.makers import make_defect, make_lot

pytestmark = pytest.mark.django_db


def of(kind, pk, name="trace-of"):
    return reverse(f"cutting:{name}", args=[kind, pk])


def test_one_match_leads_straight_to_its_trace(bench, client_of, visitor):
    client = client_of(visitor)
    answer = client.get(address("trace"), {"q": "l1"})
    assert (answer.status_code, answer.url) == (302, of("lot", bench.lot.pk))


def test_several_matches_are_grouped_and_lead_on(bench, client_of, assistant):
    booking = make_booking(bench.engineer, code="KITE-1")
    side = cut(bench, wanted=booking.wanted.first(), cut_text="KITE-1 <A>")
    page = text(client_of(assistant).get(address("trace"), {"q": "kite"}))
    assert "2 records" in page
    assert f'href="{of("booking", booking.pk)}">KITE-1<' in page
    assert f'href="{of("side", side.pk)}">KITE-1 &lt;A&gt;<' in page


def test_a_booking_code_typed_exactly_leads_to_the_booking(bench, client_of, assistant):
    booking = make_booking(bench.engineer, code="KITE-1")
    make_booking(bench.engineer, code="KITE-12")
    cut(bench, wanted=booking.wanted.first(), cut_text="KITE-1 <A>")
    client = client_of(assistant)
    answer = client.get(address("trace"), {"q": "kite-1"})
    assert (answer.status_code, answer.url) == (302, of("booking", booking.pk))
    make_lot(bench.engineer, bench.lot.item, 5, code="KITE-1")
    assert client.get(address("trace"), {"q": "kite-1"}).status_code == 200  # which of the two is for the person


def test_a_trace_of_a_lot_says_what_became_of_it(bench, client_of, engineer):
    lot = make_lot(engineer, bench.lot.item, 13, code="Z9")
    stock.hold_lot(by=engineer, once=once(), lot=lot, why="cracked")
    page = text(client_of(engineer).get(of("lot", lot.pk)))
    assert "What became of it" not in page
    assert "<dt>On hold</dt>" in page
    stock.spoil_stock(by=engineer, once=once(), lot=lot, quantity=9, defect=make_defect(engineer))
    stock.return_stock(by=engineer, once=once(), lot=lot, quantity=4, note="cracked")
    page = text(client_of(engineer).get(of("lot", lot.pk)))
    assert "<dt>What became of it</dt><dd>4 went back, 9 spoiled</dd>" in page
    assert "<dt>On hold</dt>" not in page
    assert "put on hold: cracked" in page


def test_no_match_says_what_to_do(client_of, assistant):
    page = text(client_of(assistant).get(address("trace"), {"q": "<b>nowhere"}))
    assert "Nothing has “&lt;b&gt;nowhere” in it" in page


def test_every_kind_of_trace_has_its_page(bench, client_of, visitor):
    booking = make_booking(bench.engineer)
    side = cut(bench, wanted=booking.wanted.first(), cut_text="ELM")
    actions.withdraw_side(by=bench.engineer, once=once(), side=side, reason="entered <twice>")
    client = client_of(visitor)
    for kind, row in (("lot", bench.lot), ("booking", booking), ("stylus", bench.stylus), ("side", side)):
        page = text(client.get(of(kind, row.pk)))
        assert f'href="{row.get_absolute_url()}"' in page, kind
        assert "withdrawn" in page, kind
        assert "entered &lt;twice&gt;" in page, kind
        assert page.count("<h1") == 1, kind
    assert f'href="{of("lot", bench.lot.pk)}"' in text(client.get(of("booking", booking.pk)))


def test_what_cannot_be_traced_is_not_found(bench, client_of, engineer):
    client = client_of(engineer)
    for name in ("trace-of", "trace-pdf"):
        for kind, pk in (("lot", 99_999), ("lathe", bench.lathe.pk), ("LOT", bench.lot.pk), ("lot", 10**30)):
            assert client.get(of(kind, pk, name)).status_code == 404
    for query in (
        "",
        "?kind=lot",
        "?kind=lot&pk=99999",
        "?kind=lathe&pk=1",
        "?kind=lot&pk=1e3",
        f"?kind=lot&pk={10**30}",
    ):
        assert lines(client, "trace", query) == []


def test_the_pages_are_read_only_and_for_people_who_signed_in(bench, client, client_of, engineer):
    places = [address("trace"), *(of("lot", bench.lot.pk, name) for name in ("trace-of", "trace-pdf"))]
    for where in places:
        assert client_of(engineer).post(where).status_code == 405
        assert client.get(where).status_code == 302


def test_the_search_is_in_the_head_of_every_page_and_in_more(client_of, assistant):
    client = client_of(assistant)
    for where in (reverse("morning:today"), reverse("stock:items"), reverse("people:more")):
        assert f'role="search" action="{address("trace")}"' in text(client.get(where))
    assert f'<a href="{address("trace")}"><b>Trace</b>' in text(client.get(reverse("people:more")))


def test_long_traces_are_leafed_through(bench, client_of, assistant, monkeypatch, django_assert_max_num_queries):
    client = client_of(assistant)
    for _ in range(51):
        cut(bench, cut_s=60)
    with django_assert_max_num_queries(12):
        page = text(client.get(of("lot", bench.lot.pk)))
    assert page.count('data-label="Stylus"') == 50
    assert 'rel="next"' in page


def test_the_export_has_every_side_and_no_formula(bench, client_of, visitor):
    for cut_text in ("=1+1", "-3", "+44", "@home", "plain"):
        cut(bench, cut_text=cut_text)
    mistaken = cut(bench, note="again")
    actions.withdraw_side(by=bench.engineer, once=once(), side=mistaken, reason="=twice")
    client = client_of(visitor)
    query = f"?kind=lot&pk={bench.lot.pk}"
    assert f'href="/carry/trace.csv{query.replace("&", "&amp;")}"' in text(client.get(of("lot", bench.lot.pk)))
    found = lines(client, "trace", query)
    assert [row["Run-out"] for row in found] == ["'=1+1", "-3", "+44", "'@home", "plain", ""]  # numbers stay numbers
    assert [row["Withdrawn because"] for row in found] == ["", "", "", "", "", "'=twice"]
    last = found[4]
    assert (last["Lot"], last["Stylus"], last["Cut"], last["Length"]) == ("L1", "R-1", "2025-03-03 10:00", "20:00")


def test_the_paper_names_lots_suppliers_and_sides(bench, client_of, visitor):
    booking = make_booking(bench.engineer, code="KITE-1")
    cut(bench, wanted=booking.wanted.first(), cut_text="KITE A")
    actions.withdraw_side(by=bench.engineer, once=once(), side=cut(bench), reason="entered twice")
    answer = client_of(visitor).get(of("lot", bench.lot.pk, "trace-pdf"))
    assert answer["Content-Type"] == "application/pdf"
    said = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(answer.content)).pages)
    for words in ("Lot L1", "14-inch blank", "KITE-1 A, “KITE A”: good", "withdrawn: entered twice", "R-1"):
        assert words in said, words
