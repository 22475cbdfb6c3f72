"""Saving over what somebody else saved meanwhile: refused once, with what is saved now beside what was typed."""

import re
from html import unescape
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.stock import actions
from shop.stock.models import Defect, Supplier
from tests.stock.makers import day, make_defect, make_item, make_lot, make_supplier

pytestmark = pytest.mark.django_db

ITEM = {"name": "Foil", "kind": "part", "unit": "each", "minimum": "5", "warn_days": "30", "is_active": "on"}


@pytest.fixture
def row(request, engineer):
    """The row a page changes, made at version 1."""
    if request.param == "change-item":
        return make_item(engineer, "Foil", kind="part", minimum=5)
    if request.param == "change-supplier":
        return make_supplier(engineer, "Nowhere Coatings", lead_days=90)
    if request.param == "change-defect":
        return make_defect(engineer, "Ripple")
    return make_lot(engineer, make_item(engineer), 5, code="B1", best_before=day("2031-02-03"), unit_cost=None)


def of(page, row):
    return reverse(f"stock:{page}", args=[row.pk])


def facts(answer):
    """What the page says is saved, by label."""
    page = answer.content.decode()
    assert "What is saved now" in page
    found = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", page.split('id="saved-now"')[1].split("</section>")[0])
    return {unescape(label): unescape(value) for label, value in found}


CASES = [
    (
        "change-item",
        ITEM | {"minimum": "8", "note": "counted by the owner"},
        ITEM | {"minimum": "6"},
        {"Minimum": "8", "Note": "counted by the owner"},
    ),
    (
        "change-supplier",
        {"name": "Nowhere Coatings", "lead_days": "100"},
        {"name": "Nowhere", "lead_days": "95", "is_active": "on"},
        {"Name": "Nowhere Coatings", "Promised lead time, in days": "100", "We order from them": "no"},
    ),
    (
        "change-defect",
        {"name": "Ripples", "is_active": "on"},
        {"name": "Waves"},
        {"Defect": "Ripples", "Offer it": "yes"},
    ),
    (
        "correct-lot",
        {"code": "B7", "best_before": "2031-02-08", "unit_cost": "12.50", "why": "misread"},
        {"code": "B2", "best_before": "2031-02-09", "why": "misread too"},
        {"Supplier's lot code": "B7", "Best before": "8 Feb 2031", "Price each": "12.50"},
    ),
]


@pytest.mark.parametrize(("row", "page", "theirs", "ours", "told"), [(c[0], *c) for c in CASES], indirect=["row"])
def test_a_stale_save_shows_both_and_the_next_press_saves_over_it(
    row, page, theirs, ours, told, client_of, engineer, owner
):
    address = of(page, row)
    first = client_of(owner).post(address, theirs | {"version": "1", "once": str(uuid4())})
    assert first.status_code == 302
    client = client_of(engineer)
    stale = client.post(address, ours | {"version": "1", "once": str(uuid4())})
    assert stale.status_code == 422
    text = stale.content.decode()
    assert "changed this while your form was open" in text
    assert facts(stale) == told
    name = "code" if page == "correct-lot" else "name"
    assert f'value="{ours[name]}"' in text
    assert 'name="version" value="2"' in text
    row.refresh_from_db()
    assert row.version == 2
    assert client.post(address, ours | {"version": "2", "once": str(uuid4())}).status_code == 302
    row.refresh_from_db()
    assert (getattr(row, name), row.version) == (ours[name], 3)


def test_the_form_starts_from_what_is_kept(client_of, engineer):
    supplier = make_supplier(engineer)
    item = make_item(engineer, supplier=supplier, shelf_days=10_000, note="the good ones")
    lot = make_lot(engineer, item, 5, code="B1", made_on=day("2025-01-02"), unit_cost=None)
    Supplier.objects.update(is_active=False)
    client = client_of(engineer)
    page = client.get(of("change-item", item)).content.decode()
    for kept in ('value="14-inch blank"', 'value="10000"', 'value="the good ones"', 'name="version" value="1"'):
        assert kept in page
    assert re.search(rf'<option value="{supplier.pk}" selected>', page)
    page = client.get(of("correct-lot", lot)).content.decode()
    assert 'value="B1"' in page
    assert 'value="2025-01-02"' in page


def test_the_supplier_saved_now_is_named(client_of, engineer, owner):
    supplier = make_supplier(engineer, "Quillmoor")
    item = make_item(engineer, "Foil", kind="part", minimum=5)
    actions.change_item(
        by=owner,
        once=uuid4(),
        item=item,
        version=1,
        name="Foil",
        kind="part",
        unit="each",
        minimum=5,
        supplier=supplier,
    )
    stale = client_of(engineer).post(of("change-item", item), ITEM | {"version": "1", "once": str(uuid4())})
    assert facts(stale) == {"Usual supplier": "Quillmoor"}


def test_the_same_typed_by_both_says_so(client_of, engineer, owner):
    defect = make_defect(engineer, "Ripple")
    for person, status in ((owner, 302), (engineer, 422)):
        answer = client_of(person).post(
            of("change-defect", defect), {"name": "Ripples", "is_active": "on", "version": "1", "once": str(uuid4())}
        )
        assert answer.status_code == status
    assert "The same as what you typed." in answer.content.decode()
    assert Defect.objects.get().version == 2
