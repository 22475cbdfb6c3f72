"""The pages of a count: blind until it is given in, and open to who may see and press what."""

import re
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from shop.stock import actions, queries
from shop.stock.models import Count, Movement, Tally
from tests.stock.makers import enter_count, make_count, make_given, make_item, make_liquid, make_lot, once, use

pytestmark = pytest.mark.django_db

#: What the ledger says; found nowhere else on a page.
FIGURE = 48_151


@pytest.fixture
def lots(engineer):
    item = make_item(engineer)
    liquid = make_liquid(engineer)
    liquid.place = "Flammables cupboard"
    liquid.save()
    return {
        "a": make_lot(engineer, item, FIGURE, code="A"),
        "b": make_lot(engineer, item, 20, code="B"),
        "w": make_lot(engineer, liquid, 2516, code="W"),
    }


@pytest.fixture
def count(assistant, lots):
    return make_count(assistant)


def where(name, *args):
    return reverse(f"stock:{name}", args=args)


def text(answer):
    return answer.content.decode()


def said(page):
    """What a page says, without what it is made of."""
    return re.sub(r"<[^>]+>", " ", page)


def box(count, code):
    return f"line-{count.lines.get(lot__code=code).pk}"


def figures(value):
    """A number as the ledger's pages may write it."""
    return {str(value), f"{value:,}", f"{value:,}".replace(",", "\u202f"), "2.516"}


# Blind ----------------------------------------------------------------------------------------------------------------


def test_no_page_says_what_the_ledger_says_before_it_is_given_in(count, lots, client_of, engineer, assistant):
    enter_count(assistant, count, B=20)
    line = count.lines.get(lot__code="A")
    for who in (engineer, assistant):
        client = client_of(who)
        for address in (
            where("counts"),
            where("count", count.pk),
            where("enter-count", count.pk),
            f"{where('enter-count', count.pk)}?line={line.pk}",
            where("give-in-count", count.pk),
            where("add-to-count", count.pk),
            where("explain-count", count.pk),
            where("agree-count", count.pk) if who.is_engineer else where("count", count.pk),
            where("drop-count", count.pk),
            where("start-count"),
        ):
            page = text(client.get(address))
            assert page.count("<h1") == 1
            for figure in figures(FIGURE):
                assert figure not in page, address


def test_nor_does_a_refused_form(count, client_of, assistant):
    client = client_of(assistant)
    for typed in ({}, {box(count, "A"): "many"}, {box(count, "A"): "-4"}, {box(count, "A"): "1.5"}):
        answer = client.post(where("enter-count", count.pk), {"once": once(), **typed})
        assert answer.status_code == 422
        for figure in figures(FIGURE):
            assert figure not in text(answer)
    assert not Tally.objects.exists()


def test_nor_does_the_list_on_paper(count, client_of, visitor):
    answer = client_of(visitor).get(where("count-pdf", count.pk))
    assert answer["Content-Type"] == "application/pdf"
    paper = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(answer.content)).pages)
    for words in ("A", "W", "Flammables cupboard", "Counted by", "Not in the list", "14-inch blank"):
        assert words in paper
    for figure in figures(FIGURE):
        assert figure not in paper


def test_what_another_found_is_not_said_either(count, client_of, assistant, engineer):
    enter_count(engineer, count, B=77)
    for address in (where("count", count.pk), f"{where('enter-count', count.pk)}?line={box(count, 'B')[5:]}"):
        page = text(client_of(assistant).get(address))
        assert "77" not in said(page)
    assert "counted" in page or "Count it again" in page


def test_ones_own_figure_is_shown_and_stands_in_the_box_again(count, client_of, assistant, engineer):
    enter_count(assistant, count, B=77, W=1250)
    client = client_of(assistant)
    page = said(text(client.get(where("count", count.pk))))
    assert re.search(r"77\s+counted \d+ \w+, \d\d:\d\d by you", page)
    assert "1.25\u00a0l counted" in page
    again = where("enter-count", count.pk) + "?line="
    assert 'value="77"' in text(client.get(again + box(count, "B")[5:]))
    assert 'value="1.25"' in text(client.get(again + box(count, "W")[5:]))
    assert 'value="77"' not in text(client_of(engineer).get(again + box(count, "B")[5:]))
    enter_count(engineer, count, B=76)  # the latest is another's, and not for them
    assert "77" not in said(text(client.get(where("count", count.pk))))


# The way through ------------------------------------------------------------------------------------------------------


def test_from_the_shelf_to_the_ledger(lots, client_of, assistant, engineer):
    hands, agrees = client_of(assistant), client_of(engineer)
    answer = hands.post(where("start-count"), {"once": once(), "which": "all"})
    count = Count.objects.get()
    assert answer.url == count.get_absolute_url()
    typed = {box(count, "A"): str(FIGURE - 1), box(count, "W"): "2.516", box(count, "B"): ""}
    answer = hands.post(where("enter-count", count.pk), {"once": once(), **typed})
    assert answer.url == where("enter-count", count.pk)
    page = text(hands.get(answer.url))
    assert "2 numbers are kept. 1 to go." in page
    assert box(count, "B") in page
    assert box(count, "A") not in page
    hands.post(where("enter-count", count.pk), {"once": once(), box(count, "B"): "20"})
    hands.post(where("give-in-count", count.pk), {"once": once()})
    page = text(hands.get(where("count", count.pk)))
    assert "<b>−1</b>" in page
    assert "2 lots found as the ledger says" in page
    assert where("agree-count", count.pk) not in page
    answer = hands.post(where("explain-count", count.pk), {"once": once(), box(count, "A"): "dropped <one>"})
    assert answer.url == count.get_absolute_url()
    page = text(agrees.get(where("agree-count", count.pk)))
    seen = re.search(r'name="seen" value="([^"]*)"', page)[1]
    assert agrees.post(where("agree-count", count.pk), {"once": once(), "seen": seen}).status_code == 302
    page = text(hands.get(count.get_absolute_url()))
    assert "dropped &lt;one&gt;" in page
    assert "Edvin Maarsk" in page
    lots["a"].refresh_from_db()
    assert lots["a"].on_hand == FIGURE - 1
    assert Movement.objects.filter(kind="counted").count() == 3


def test_lots_that_were_not_counted_are_ticked_off(count, client_of, assistant):
    enter_count(assistant, count, A=1)
    client = client_of(assistant)
    answer = client.post(where("give-in-count", count.pk), {"once": once()})
    assert answer.status_code == 422
    assert "2 lots were not counted" in text(answer)
    sure = re.findall(r'name="sure" value="([^"]+)"', text(answer))
    assert client.post(where("give-in-count", count.pk), {"once": once(), "sure": sure}).status_code == 302


def test_a_lot_found_besides_leads_to_its_box(count, engineer, client_of, assistant):
    lot = make_lot(engineer, count.lines.first().lot.item, 3, code="C")
    answer = client_of(assistant).post(where("add-to-count", count.pk), {"once": once(), "code": "c"})
    line = count.lines.get(lot=lot)
    assert answer.url == f"{where('enter-count', count.pk)}?line={line.pk}"
    refused = client_of(assistant).post(where("add-to-count", count.pk), {"once": once(), "code": "nowhere"})
    assert refused.status_code == 422
    assert "receive it as a delivery" in text(refused)


def test_counting_again_after_it_was_given_in(engineer, lots, client_of, assistant):
    count = make_given(assistant, A=FIGURE - 2, B=20, W=2516)
    client = client_of(assistant)
    line = count.lines.get(lot__code="A")
    again = f"{where('enter-count', count.pk)}?line={line.pk}"
    assert again in text(client.get(where("count", count.pk)))
    answer = client.post(again, {"once": once(), f"line-{line.pk}": str(FIGURE)})
    assert answer.url == count.get_absolute_url()
    page = text(client.get(answer.url))
    assert "Nothing differs" in page


def test_what_was_undone_of_an_agreed_count_shows_as_that(engineer, lots, client_of):
    count = make_given(engineer, A=FIGURE - 2)
    line = count.lines.get(lot__code="A")
    actions.explain_count(by=engineer, once=once(), count=count, reasons=[actions.Explained(line, "gone")])
    actions.agree_count(by=engineer, once=once(), count=count)
    actions.reverse_movement(by=engineer, once=once(), movement=Movement.objects.get(kind="counted"))
    assert "undone since" in text(client_of(engineer).get(where("count", count.pk)))


def test_counted_and_agreed_by_the_same_person_is_asked_about_and_said(engineer, owner, lots, client_of):
    count = make_given(engineer, A=FIGURE)
    client = client_of(engineer)
    seen = re.search(r'name="seen" value="([^"]*)"', text(client.get(where("agree-count", count.pk)))).group(1)
    asked = client.post(where("agree-count", count.pk), {"once": once(), "seen": seen})
    assert asked.status_code == 422
    assert "You counted one of these lots yourself, and somebody else could agree" in text(asked)
    done = client.post(where("agree-count", count.pk), {"once": once(), "seen": seen, "sure": ["own-count"]})
    assert done.status_code == 302
    assert "counted and agreed by the same person" in text(client.get(count.get_absolute_url()))
    note = Movement.objects.get(kind="counted").note
    assert note == f"Count {count.pk}, counted and agreed by the same person, Edvin Maarsk"


def test_in_a_room_of_one_the_same_person_agrees_unasked_and_it_is_said(engineer, assistant, lots):
    count = make_given(engineer, A=FIGURE)
    actions.agree_count(by=engineer, once=once(), count=count)
    assert "counted and agreed by the same person" in Movement.objects.get(kind="counted").note


def test_a_count_that_agreed_says_how_many_and_that_there_was_no_difference(
    engineer, assistant, lots, client_of, django_assert_num_queries
):
    count = make_given(assistant, B=20)
    use(engineer, lots["b"], 3, sure=[f"out-of-turn:{lots['a'].pk}"])
    actions.agree_count(by=engineer, once=once(), count=count)
    actions.count_lot(by=engineer, once=once(), lot=lots["b"], counted=17)
    page = text(client_of(engineer).get(lots["b"].get_absolute_url()))
    assert "Counted <b>20</b>, no difference" in page
    assert "Counted <b>17</b>, no difference" in page
    assert "Counted <b>17</b>, no difference" in text(client_of(engineer).get(where("ledger")))
    every = list(Movement.objects.all())
    with django_assert_num_queries(1):
        queries.agreeing_counts(every)


def test_what_another_counted_is_agreed_unasked_and_bears_no_mark(engineer, owner, assistant, lots, client_of):
    count = make_given(assistant, A=FIGURE)
    actions.agree_count(by=engineer, once=once(), count=count)
    assert "same person" not in Movement.objects.get(kind="counted").note
    assert "same person" not in text(client_of(engineer).get(count.get_absolute_url()))


# Who, and how much ----------------------------------------------------------------------------------------------------


def test_a_visitor_looks_and_presses_nothing(count, client_of, visitor):
    client = client_of(visitor)
    for name in ("counts", "count", "count-pdf"):
        page = client.get(where(name, *([] if name == "counts" else [count.pk])))
        assert page.status_code == 200
    for name in ("enter-count", "give-in-count", "add-to-count", "explain-count", "agree-count", "drop-count"):
        assert where(name, count.pk) not in text(client.get(where("count", count.pk)))
        assert client.get(where(name, count.pk)).status_code == 403
        assert client.post(where(name, count.pk), {"once": once()}).status_code == 403


def test_what_is_typed_badly_is_said_at_its_box(count, client_of, assistant):
    client = client_of(assistant)
    typed = {box(count, "A"): "1,234", "line-999999": "5", "line-x": "5", "at": "yesterday"}
    answer = client.post(where("enter-count", count.pk), {"once": once(), **typed})
    assert answer.status_code == 422
    assert f'id="id_{box(count, "A")}_error"' in text(answer)
    assert 'value="1,234"' in text(answer)
    for address in (where("enter-count", 99_999), where("count", 99_999), where("count-pdf", 99_999)):
        assert client.get(address).status_code == 404
    assert client.get(f"{where('enter-count', count.pk)}?line=zzz").status_code == 200


def test_settled_counts_say_that_nothing_more_is_done_in_them(count, client_of, engineer):
    client = client_of(engineer)
    client.post(where("drop-count", count.pk), {"once": once(), "why": "the box was open"})
    for name in ("enter-count", "explain-count", "agree-count"):
        page = text(client.get(where(name, count.pk)))
        assert "is dropped" in page
        assert '<form method="post" class="form' not in page
    assert "the box was open" in text(client.get(where("count", count.pk)))


def test_pages_take_as_many_queries_for_many_lots_as_for_few(
    engineer, assistant, lots, client_of, django_assert_max_num_queries
):
    client = client_of(engineer)

    def taken():
        counts = [make_count(assistant), make_given(assistant, A=1, B=2)]
        found = []
        pages = [("counts",), ("count", counts[0].pk), ("enter-count", counts[0].pk), ("count", counts[1].pk)]
        pages += [("explain-count", counts[1].pk), ("agree-count", counts[1].pk)]
        for name, *args in pages:
            with django_assert_max_num_queries(12) as seen:
                assert client.get(where(name, *args)).status_code == 200
            found.append(len(seen))
        return found

    few = taken()
    for number in range(12):
        make_lot(engineer, lots["a"].item, 5, code=f"M{number}")
    assert taken() == few


def test_one_lot_alone_is_counted_beside_the_ledger_and_leads_here(lots, client_of, assistant):
    page = text(client_of(assistant).get(where("count-lot", lots["b"].pk)))
    assert "Count this lot" in page
    assert "The ledger says 20" in page
    assert f'href="{where("counts")}"' in page
    use(assistant, lots["a"], 1)
