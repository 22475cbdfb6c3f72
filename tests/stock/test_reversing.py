"""Undoing: the whole movement, once, by a line that names it."""

import pytest

from shop.refusal import NotAllowed, NotEnough, Refused
from shop.stock import ledger
from shop.stock.models import Movement
from tests.stock.makers import count_it, make_item, make_lot, reverse, use

pytestmark = pytest.mark.django_db


def test_it_puts_back_what_was_taken_and_names_it(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 10)
    wrong = use(assistant, lot, 3)
    undone = reverse(engineer, wrong, note="the other lot")
    assert (undone.kind, undone.change, undone.balance, undone.note) == ("reversed", 3, 10, "the other lot")
    assert undone.reverses == wrong
    wrong.refresh_from_db()
    assert wrong.change == -3


def test_once_only(engineer):
    wrong = use(engineer, make_lot(engineer, make_item(engineer), 10), 3)
    reverse(engineer, wrong)
    with pytest.raises(Refused, match="undone already"):
        reverse(engineer, wrong)


def test_not_a_reversal(engineer):
    undone = reverse(engineer, use(engineer, make_lot(engineer, make_item(engineer), 10), 3))
    with pytest.raises(Refused, match="already undoes another"):
        reverse(engineer, undone)


def test_not_a_count_that_changed_nothing(engineer):
    line = count_it(engineer, make_lot(engineer, make_item(engineer), 10), 10)
    with pytest.raises(Refused, match="nothing to undo"):
        reverse(engineer, line)


def test_not_below_zero(engineer):
    lot = make_lot(engineer, make_item(engineer), 10, code="K3")
    taken = use(engineer, lot, 4)
    with pytest.raises(NotEnough, match="take 10 out of lot K3, where only 6 are left"):
        reverse(engineer, lot.movements.get(kind="received"))
    reverse(engineer, taken)
    assert reverse(engineer, lot.movements.get(kind="received")).balance == 0


def test_a_count_is_undone_by_its_difference(engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    counted = count_it(engineer, lot, 7, reason="?")
    use(engineer, lot, 2)
    assert reverse(engineer, counted).balance == 8


def test_not_by_a_visitor(engineer, visitor):
    lot = make_lot(engineer, make_item(engineer), 10)
    with pytest.raises(NotAllowed):
        reverse(visitor, lot.movements.get())


@pytest.fixture
def owned(monkeypatch):
    """Says that every movement with "side" in its note belongs to side 812."""
    asked = []

    def question(ids):
        asked.append(list(ids))
        mine = Movement.objects.filter(pk__in=ids, note__contains="side")
        return {pk: ledger.Owner("side 812", "/cutting/sides/812/") for pk in mine.values_list("pk", flat=True)}

    monkeypatch.setattr(ledger, "_owner_questions", [])
    ledger.register_owner(question)
    ledger.register_owner(question)
    return asked


def test_what_belongs_to_another_record_is_undone_there(engineer, owned, client_of):
    lot = make_lot(engineer, make_item(engineer), 10)
    mine = use(engineer, lot, note="side 812")
    with pytest.raises(Refused, match=r"belongs to side 812\. Undo it there"):
        reverse(engineer, mine)
    owned.clear()
    page = client_of(engineer).get(lot.get_absolute_url()).content.decode()
    assert '<a href="/cutting/sides/812/">see side 812</a>' in page
    assert len(owned) == 1
    assert "Was that a mistake?" not in page
    page = client_of(engineer).get(f"/stock/ledger/{mine.pk}/reverse/").content.decode()
    assert 'href="/cutting/sides/812/"' in page
    assert "Undo it</button>" not in page
