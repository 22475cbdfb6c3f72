"""Orders that were sent stand in the calendar on the day they are expected."""

import pytest

from shop import clock
from shop.stock import actions
from shop.stock.happenings import happenings
from tests.makers import anyway
from tests.stock import makers

pytestmark = pytest.mark.django_db


def test_a_sent_order_stands_on_its_day_a_draft_does_not_and_one_closed_short_is_called_off(owner, at):
    with at("2025-03-03 08:00"):
        supplier, item = makers.make_supplier(owner), makers.make_item(owner)
        lines = [actions.WantedLine(item, 25)]
        order = anyway(actions.draft_order, by=owner, supplier=supplier, lines=lines)
        assert list(happenings(clock.now())) == []
        order = anyway(actions.send_order, by=owner, order=order, version=order.version, expected_on=clock.today())
        (one,) = happenings(clock.now())
        assert (one.start, one.is_cancelled) == (clock.today(), False)
        order.refresh_from_db()
        anyway(actions.close_order_short, by=owner, order=order, why="Not made any more.")
        (again,) = happenings(clock.now())
        assert (again.uid, again.is_cancelled) == (one.uid, True)
