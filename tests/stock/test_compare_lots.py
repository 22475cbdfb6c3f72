"""The page on which lots are compared, and what can be done from there."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from shop import clock
from shop.stock import actions
from shop.stock.models import Lot
from tests.stock.makers import make_defect, make_item, make_liquid, make_lot, make_supplier, once

pytestmark = pytest.mark.django_db


@pytest.fixture
def compared(engineer):
    """Two sizes; of one a lot that is clearly worse than the other."""
    item = make_item(engineer)
    make_item(engineer, "12-inch blank", kind="blank", blank_in=12)
    pinholes = make_defect(engineer, "Pinholes")
    good = make_lot(engineer, item, 60, code="GOOD", supplier=make_supplier(engineer))
    bad = make_lot(engineer, item, 60, code="<BAD>", received_on=clock.today() - timedelta(days=3))
    for lot, faulty in ((good, 0), (bad, 12)):
        sure = [f"out-of-turn:{one.pk}" for one in Lot.objects.all()]
        actions.use_stock(by=engineer, once=once(), lot=lot, quantity=30, sure=sure)
        if faulty:
            actions.spoil_stock(by=engineer, once=once(), lot=lot, quantity=faulty, defect=pinholes)
    return {"item": item, "good": good, "bad": bad}


def text(answer):
    return answer.content.decode()


def page(client, **asked):
    return text(client.get(reverse("stock:compare-lots"), asked))


def test_it_shows_shares_intervals_and_what_is_clearly_worse(compared, client_of, visitor):
    shown = page(client_of(visitor))
    assert "12 of 42 tried were faulty, 29\u00a0% (17\u00a0% to 44\u00a0%)" in shown
    assert "Lot &lt;BAD&gt; is clearly worse than its fellows" in shown
    assert "under 1\u00a0%: clearly worse" in shown
    assert "<svg" in shown
    assert "Of 2 lots of 14-inch blank together" in shown
    assert "Blankworks of Nowhere" in shown
    assert "An engineer may put it on hold" in shown
    assert "12-inch blank" not in shown  # nothing of it was begun


def test_one_press_holds_it(compared, client_of, engineer):
    client, bad = client_of(engineer), compared["bad"]
    shown = page(client)
    where = reverse("stock:hold-lot", args=[bad.pk])
    form = shown[shown.index(f'action="{where}"') :]
    typed = dict(re.findall(r'name="(once|why)" value="([^"]*)"', form[: form.index("</form>")]))
    answer = client.post(where, typed)
    assert (answer.status_code, answer.url) == (302, bad.get_absolute_url())
    bad.refresh_from_db()
    assert bad.held_why == "Clearly worse than its fellows: 12 of 42 tried were faulty, 0 of 30 of the others."
    again = page(client)
    assert "<b>On hold:</b>" in again
    assert f'action="{where}"' not in again


def test_an_assistant_is_offered_no_hold(compared, client_of, assistant):
    assert reverse("stock:hold-lot", args=[compared["bad"].pk]) not in page(client_of(assistant))


def test_whatever_item_is_asked_for_a_page_answers(compared, engineer, client_of, visitor):
    liquid = make_liquid(engineer)
    for asked in (compared["item"].pk, liquid.pk, 99_999, "x", "", "1" * 400, "²"):
        assert "14-inch blank" in page(client_of(visitor), item=asked)


def test_before_anything_was_cut_it_says_what_to_do(client_of, owner):
    assert "Nothing was cut, tested or spoiled of any blank yet" in page(client_of(owner))


def test_no_share_beyond_the_whole_is_marked_on_its_axis(compared, client_of, engineer):
    """Of two that were tried both were faulty: the bar reaches 100 %, and the axis has no mark beyond."""
    odd = make_lot(engineer, compared["item"], 2, code="ODD")
    dents = make_defect(engineer, "Dents")
    sure = [f"out-of-turn:{one.pk}" for one in Lot.objects.all()]
    actions.spoil_stock(by=engineer, once=once(), lot=odd, quantity=2, defect=dents, sure=sure)
    marks = re.findall(r">(\d+)</text>", page(client_of(engineer)))
    assert "100" in marks
    assert max(int(mark) for mark in marks) == 100


def test_a_lot_only_looked_over_and_good_is_drawn(engineer, client_of):
    lot = make_lot(engineer, make_item(engineer), 30, code="ONE")
    assert "Nothing was cut" in page(client_of(engineer))
    actions.inspect_lot(by=engineer, once=once(), lot=lot, looked_at=10, outcome="accept", found=[])
    assert "too few to compare" in page(client_of(engineer))


def test_it_takes_as_many_queries_for_many_lots_as_for_few(
    compared, engineer, client_of, django_assert_max_num_queries
):
    client = client_of(engineer)
    with django_assert_max_num_queries(12) as few:
        page(client)
    for number in range(5):
        lot = make_lot(
            engineer, compared["item"], 30, code=f"M{number}", supplier=make_supplier(engineer, f"S{number}")
        )
        sure = [f"out-of-turn:{one.pk}" for one in Lot.objects.all()]
        actions.use_stock(by=engineer, once=once(), lot=lot, quantity=25, sure=sure)
    with django_assert_max_num_queries(len(few)):
        page(client)


def test_it_is_for_reading_and_for_people_who_signed_in(compared, client, client_of, engineer):
    where = reverse("stock:compare-lots")
    assert client_of(engineer).post(where).status_code == 405
    assert client.get(where).status_code == 302


def test_what_a_defect_speaks_against_is_typed_with_it(client_of, engineer):
    client = client_of(engineer)
    client.post(reverse("stock:add-defect"), {"once": once(), "name": "Knocked"})
    client.post(reverse("stock:add-defect"), {"once": once(), "name": "Pinholes", "blames_lot": "on"})
    shown = text(client.get(reverse("stock:defects")))
    assert re.findall(r'data-label="Speaks against the lot" >(\w+)<', shown) == ["no", "yes"]
