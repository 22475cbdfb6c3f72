"""The pages of styli."""

from uuid import uuid4

import pytest

from shop.cutting import actions
from shop.cutting.models import Fitting, Life
from shop.stock import actions as stock
from shop.stock.models import Lot
from tests.cutting.makers import address, cut, make_booking, make_stylus, once, text
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


def test_fitting_by_the_page_offers_to_take_the_other_off(bench, client_of, assistant):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    client = client_of(assistant)
    page = text(client.get(address("fit-stylus", other.pk)))
    assert f'href="{address("take-off-stylus", bench.stylus.pk)}"' in page
    refused = client.post(address("fit-stylus", other.pk), {"once": uuid4(), "lathe": bench.lathe.pk})
    assert refused.status_code == 422
    assert "R-1 is in the head of Lathe" in text(refused)
    assert client.post(address("take-off-stylus", bench.stylus.pk), {"once": uuid4()}).status_code == 302
    token = {"once": str(uuid4()), "lathe": bench.lathe.pk}
    for _ in range(2):
        assert client.post(address("fit-stylus", other.pk), token).status_code == 302
    assert Fitting.objects.filter(off_at=None).get().life.stylus == other
    assert Fitting.objects.count() == 2


def test_the_curve_of_a_new_edge_does_not_speak_of_hours_it_has_not_cut(bench, client_of, assistant):
    client = client_of(assistant)
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "h of cutting; this one has not cut yet. The band" in page
    Life.objects.update(cut_s=120)
    assert "h of cutting; this one has hardly cut yet. The band" in text(client.get(bench.stylus.get_absolute_url()))
    Life.objects.update(cut_s=1800)
    assert "after the 0.5 h that this one has cut. The band" in text(client.get(bench.stylus.get_absolute_url()))


def test_a_stylus_page_says_what_is_left_with_picture_words_and_table(bench, client_of, assistant):
    make_booking(bench.engineer)
    cut(bench)
    page = text(client_of(assistant).get(bench.stylus.get_absolute_url()))
    assert "h at 80&nbsp;% confidence" in page
    assert "No life has worn out yet" in page
    assert "This is advice" in page
    assert 'role="img"' in page
    assert "The curve as a table" in page
    assert "Chance to finish today's sides" in page or "Chance to finish today&#x27;s sides" in page


def test_retiring_and_reinstating_by_the_page(bench, client_of, engineer):
    client = client_of(engineer)
    assert client.post(address("retire-stylus", bench.stylus.pk), {"once": uuid4()}).status_code == 422
    assert (
        client.post(address("retire-stylus", bench.stylus.pk), {"once": uuid4(), "reason": "knocked"}).status_code
        == 302
    )
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "knocked" in page
    assert "What is left in it" not in page
    assert "R-1" in text(client.get(address("styli"), {"state": "retired"}))
    assert client.post(address("reinstate-stylus", bench.stylus.pk), {"once": uuid4()}).status_code == 302
    assert Life.objects.get().ended_at is None


def test_adding_a_stylus_out_of_stock(bench, client_of, assistant):
    lot = make_lot(bench.engineer, make_item(bench.engineer, "Ruby stylus", kind="stylus"), 2, code="S1")
    client = client_of(assistant)
    held = make_lot(bench.engineer, lot.item, 3, code="S2")
    stock.hold_lot(by=bench.engineer, once=uuid4(), lot=held, why="box crushed")
    page = text(client.get(address("add-stylus")))
    assert ">Ruby stylus, lot S1 (2 left)<" in page
    assert ">On hold · Ruby stylus, lot S2 (3 left)<" in page
    posted = {"once": uuid4(), "mark": "R-5", "kind": bench.kind.pk, "lot": lot.pk, "received_on": "2025-03-03"}
    assert client.post(address("add-stylus"), posted).status_code == 302
    assert Lot.objects.get(pk=lot.pk).on_hand == 1


def test_an_empty_head_is_chosen_beforehand(bench, client_of, engineer):
    spare = make_stylus(bench.engineer, bench.kind, "S-9")
    empty = actions.add_lathe(by=bench.engineer, once=once(), name="Spare lathe")
    form = client_of(engineer).get(address("fit-stylus", spare.pk)).context["form"]
    assert form["lathe"].value() == empty.pk
