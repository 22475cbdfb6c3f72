"""Leafing through a list without counting it."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import paging
from shop.stock.models import Item, ItemKind, Lot

pytestmark = pytest.mark.django_db

BY = ("received_on", "id")


@pytest.fixture
def lots() -> list[int]:
    """Seven lots, latest first; two came in on each day but the last."""
    item = Item.objects.create(name="Talc", kind=ItemKind.PART)
    made = [Lot(item=item, code=f"T{n}", received_on=date(2025, 3, 1 + n // 2)) for n in range(7)]
    return [lot.pk for lot in reversed(Lot.objects.bulk_create(made))]


def leaf(mark: str = "") -> paging.Leaf[Lot]:
    return paging.leaf(Lot.objects.all(), {paging.FROM: mark}, by=BY, size=3)


def ids(of: paging.Leaf[Lot]) -> list[int]:
    return [lot.pk for lot in of.rows]


def test_older_and_newer_again_with_ties_at_the_edge(lots: list[int]) -> None:
    first = leaf()
    second = leaf(first.older)
    third = leaf(second.older)
    assert ids(first) + ids(second) + ids(third) == lots
    assert (first.is_first, first.newer, third.older) == (True, "", "")
    back = leaf(third.newer)
    assert ids(back) == ids(second)
    start = leaf(back.newer)
    assert ids(start) == ids(first)
    assert (start.is_first, start.newer) == (True, "")


def test_is_not_counted(lots: list[int]) -> None:
    with CaptureQueriesContext(connection) as asked:
        leaf(leaf().older)
    assert len(asked) == 2
    assert not any("COUNT(" in query["sql"] for query in asked)


@pytest.mark.parametrize(
    "mark", ["x", "o", "o1", "o1-2-3", "o-1-2", "oa-b", "o0-1", "o9999999-1", "o99999999999999999999-1", "o１-２", "n"]
)
def test_what_is_no_mark_gives_the_first_page(lots: list[int], mark: str) -> None:
    assert ids(leaf(mark)) == lots[:3]


def test_past_the_end_gives_the_first_page(lots: list[int]) -> None:
    last = Lot.objects.get(pk=lots[-1])
    assert ids(leaf(f"o{last.received_on.toordinal()}-{last.pk}")) == lots[:3]
