"""That something is to be ordered: when it is said, how gravely, and once for one thing."""

from datetime import timedelta

import pytest

from shop import clock, recall
from shop.concern import Grade
from shop.stock import actions, queries
from shop.stock.concerns import concerns
from shop.stock.models import Item, ReorderFigure
from shop.stock.queries.reorders import order_by
from tests.stock.makers import day, make_item, make_liquid, make_lot, make_sent, make_supplier, once, use

pytestmark = pytest.mark.django_db

#: A Wednesday.
TODAY = day("2025-10-01")


@pytest.fixture(autouse=True)
def now(room_row, at):
    with at("2025-10-01 08:00"):
        yield


def make_figure(item, *, days=None, usable=30, **other):
    """The figures of an item that is to be ordered in so many days: 7 a week, time to order at 20."""
    facts = {
        "worked_at": clock.now(),
        "state": "",
        "usable": usable,
        "on_order": 0,
        "booked": 0,
        "weeks": 40,
        "per_week": 7.0,
        "reorder_point": 20,
        "order_by": None if days is None else clock.today() + timedelta(days=days),
        "quantity": 60,
        "chance_out": 0.07,
    }
    return ReorderFigure.objects.create(item=item, **facts | other)


def found(prefix="stock:"):
    return {c.key: c for c in concerns(clock.now()) if c.key.startswith(prefix)}


@pytest.mark.parametrize(
    ("days", "grade", "headline"),
    [
        (None, None, ""),
        (15, None, ""),
        (14, Grade.NOTE, "Order Filter by Wednesday 15 October"),
        (1, Grade.NOTE, "Order Filter by tomorrow"),
        (0, Grade.CARE, "Order Filter now"),
        (-3, Grade.CARE, "Order Filter now"),
    ],
)
def test_a_note_from_two_weeks_ahead_and_care_once_the_day_has_come(engineer, claimed, days, grade, headline):
    item = make_item(engineer, "Filter", kind="part")
    make_lot(engineer, item, 30)
    make_figure(item, days=days)
    said = found().get(f"stock:order:item-{item.pk}")
    if grade is None:
        assert said is None
        return
    assert (said.grade, said.headline) == (grade, headline)
    assert said.reason == (
        "30 usable; 7.0 a week are used. Ordered today, the chance of running out before it comes is 7\u00a0%. "
        "Worked out at 08:00."
    )
    assert said.what_to_do == "Order 60."
    assert said.link == f"/stock/outlook/{item.pk}/"
    assert said.by == (None if days <= 0 else clock.day_bounds(clock.today() + timedelta(days=days))[0])


@pytest.mark.parametrize(
    ("figures", "position", "by"),
    [
        ({"days": 5}, 30, TODAY + timedelta(days=5)),  # as worked out
        ({"days": 5}, 20, TODAY),  # fallen to the reorder point since
        ({"days": None}, 20, TODAY),
        ({"days": None}, 29, None),
        ({"days": 5}, 37, TODAY + timedelta(days=12)),  # a week's worth came or was ordered since
        ({"days": 5}, 27, TODAY + timedelta(days=2)),  # used faster than expected
        ({"days": 40, "usable": 19}, 18, TODAY + timedelta(days=39)),  # it was below already, and that was weighed
        ({"days": None, "per_week": 0.0}, 0, None),  # nothing is used of it
        ({"days": None, "per_week": None, "reorder_point": None}, 0, None),
    ],
)
def test_what_changed_since_it_was_worked_out_counts_at_once(engineer, claimed, figures, position, by):
    figure = make_figure(make_item(engineer, "Filter", kind="part"), **figures)
    assert order_by(figure, position, TODAY) == by


def test_an_order_that_is_sent_settles_it_at_once(engineer, claimed):
    supplier = make_supplier(engineer, lead_days=9)
    item = make_item(engineer, "Filter", kind="part", supplier=supplier)
    make_lot(engineer, item, 10)
    make_figure(item, usable=10, days=0)
    assert set(found()) == {f"stock:order:item-{item.pk}"}
    make_sent(engineer, (item, 60), supplier=supplier)
    assert found() == {}


def test_below_the_minimum_and_to_be_ordered_is_one_worry(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    make_lot(engineer, item, 800)
    figure = make_figure(item, usable=800, days=10, quantity=2500)
    [low] = found().values()
    assert (low.key, low.grade) == (f"stock:low:item-{item.pk}", Grade.NOTE)
    assert low.what_to_do == "Order 2.5\u00a0l of Wiping solvent, or enter the delivery if it has come."
    assert low.link == f"/stock/outlook/{item.pk}/"
    figure.order_by = TODAY
    figure.save()
    [low] = found().values()
    assert low.grade == Grade.CARE


def test_below_the_minimum_with_enough_on_order_asks_when_it_comes(engineer, claimed):
    supplier = make_supplier(engineer, lead_days=9)
    item = make_liquid(engineer, minimum=1000, supplier=supplier)
    make_sent(engineer, (item, 2500), supplier=supplier)
    [low] = found().values()
    assert low.what_to_do == "Ask when the 2.5\u00a0l on order will come, or enter the delivery if it has come."
    foil = make_item(engineer, minimum=5, supplier=supplier)
    make_sent(engineer, (foil, 25), supplier=supplier)
    assert found()["stock:low:blank-14"].what_to_do == "Ask when the 25 on order will come, or move a booking."


def test_blanks_short_and_to_be_ordered_are_one_worry_of_their_size(engineer, claimed):
    item, other = make_item(engineer, "Foil A", minimum=5), make_item(engineer, "Foil B")
    make_lot(engineer, item, 3)
    make_figure(item, usable=3, days=0)
    [low] = found().values()
    assert (low.key, low.grade) == ("stock:low:blank-14", Grade.CARE)
    assert low.what_to_do == "Order 60 of Foil A, or move a booking."
    assert low.link == f"/stock/outlook/{item.pk}/"
    make_figure(other, usable=0, days=3, quantity=25)
    [low] = found().values()
    assert low.what_to_do == "Order 60 of Foil A and 25 of Foil B, or move a booking."
    assert low.link == "/stock/"


def test_blanks_enough_for_now_but_to_be_ordered(engineer, claimed):
    item = make_item(engineer, minimum=5)
    make_lot(engineer, item, 30)
    make_figure(item, days=0)
    assert {key: one.grade for key, one in found().items()} == {f"stock:order:item-{item.pk}": Grade.CARE}


def test_what_is_on_hold_is_to_be_decided_first(engineer, claimed):
    item = make_item(engineer, "Filter", kind="part")
    make_lot(engineer, item, 30)
    actions.hold_lot(by=engineer, once=once(), lot=make_lot(engineer, item, 8), why="?")
    make_figure(item, days=3)
    said = found(f"stock:order:item-{item.pk}").popitem()[1]
    assert said.reason.startswith("30 usable, 8 on hold; 7.0 a week")
    assert said.what_to_do.startswith("Order 60. 8 on hold are not counted")


def test_the_chance_is_left_out_where_stock_changed_since(engineer, claimed):
    item = make_item(engineer, "Filter", kind="part")
    lot = make_lot(engineer, item, 30)
    make_figure(item, days=3)
    use(engineer, lot, 2)
    [said] = found().values()
    assert said.reason == "28 usable; 7.0 a week are used. Worked out at 08:00."


def test_no_longer_kept_is_not_ordered(engineer, claimed):
    item = make_item(engineer, "Filter", kind="part")
    make_figure(item, usable=0, days=0)
    Item.objects.filter(pk=item.pk).update(is_active=False)
    assert found() == {}


def test_old_figures_are_never_silently_relied_on(engineer, claimed, at):
    item = make_item(engineer, "Filter", kind="part")
    make_lot(engineer, item, 30)
    make_figure(item, days=40)
    with at("2025-10-02 07:59"):
        assert found() == {}
    with at("2025-10-02 08:01"):
        [stale] = found().values()
        assert (stale.key, stale.grade, stale.link) == ("stock:outlook:stale", Grade.NOTE, "/stock/outlook/")
        assert "on 1 October 2025 at 08:00" in stale.reason


def test_it_costs_no_query_of_its_own(engineer, claimed, django_assert_num_queries):
    supplier = make_supplier(engineer, lead_days=9)
    for n in range(12):
        item = make_item(engineer, f"Part {n}", kind="part", supplier=supplier)
        make_lot(engineer, item, 30)
        make_figure(item, days=n)
        make_sent(engineer, (item, 1), supplier=supplier)
    with recall.looking(), django_assert_num_queries(2):
        assert len(found("stock:order:")) == 12


@pytest.mark.parametrize(("days", "suggested"), [(3, 60), (40, 15), (None, 15)])
def test_a_draft_is_offered_what_the_outlook_says_where_it_is_to_be_ordered_soon(engineer, claimed, days, suggested):
    """Else what would bring it to twice its minimum."""
    supplier = make_supplier(engineer, lead_days=9)
    item = make_item(engineer, "Filter", kind="part", supplier=supplier, minimum=10)
    make_lot(engineer, item, 5)
    make_figure(item, usable=5, days=days)
    [offer] = queries.offers(supplier, TODAY)
    assert offer.suggested == suggested
