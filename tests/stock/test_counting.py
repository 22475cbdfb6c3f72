"""Counting: one line with the difference, also if there is none."""

import pytest

from shop.refusal import Doubtful, Refused
from shop.stock.models import Movement
from tests.stock.makers import count_it, make_item, make_lot, use

pytestmark = pytest.mark.django_db


def test_a_difference_is_one_line_with_its_reason(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 10)
    line = count_it(assistant, lot, 8, reason="two behind the shelf, broken")
    assert (line.kind, line.change, line.balance, line.note) == ("counted", -2, 8, "two behind the shelf, broken")
    assert count_it(assistant, lot, 11, reason="found them").change == 3


def test_a_difference_without_a_reason_is_refused(engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    with pytest.raises(Refused, match="The ledger says 10") as refused:
        count_it(engineer, lot, 9)
    assert refused.value.field == "reason"
    assert Movement.objects.count() == 1


def test_a_count_that_agrees_is_kept_too(engineer):
    line = count_it(engineer, make_lot(engineer, make_item(engineer), 10), 10)
    assert (line.change, line.balance) == (0, 10)


def test_none_may_be_counted_but_not_less(engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    assert count_it(engineer, lot, 0, reason="gone").balance == 0
    for wrong in (-1, 1_000_001, 2.5):
        with pytest.raises(Refused) as refused:
            count_it(engineer, lot, wrong, reason="?")
        assert refused.value.field == "counted"


def test_what_moved_while_counting_is_asked_about(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 10)
    use(engineer, lot)
    with pytest.raises(Doubtful, match="went from 10 to 9") as asked:
        count_it(assistant, lot, 10, expected=10, reason="as I counted")
    sure = [doubt.key for doubt in asked.value.doubts]
    assert count_it(assistant, lot, 9, expected=10, sure=sure).change == 0
    use(engineer, lot, note="one more")
    with pytest.raises(Doubtful, match="went from 10 to 8"):
        count_it(assistant, lot, 9, expected=10, reason="?", sure=sure)
