"""How long suppliers took, and the lead time that is learned from it."""

import pytest

from shop.stock import actions, queries
from tests.stock.makers import day, make_item, make_order, make_sent, make_supplier, once, receive_line, reverse

pytestmark = pytest.mark.django_db

TODAY = day("2025-06-02")


@pytest.fixture
def supplier(engineer):
    return make_supplier(engineer, "Slow", lead_days=30)


@pytest.fixture
def item(engineer):
    return make_item(engineer)


@pytest.fixture
def sent(engineer, supplier, item, at):
    """`sent("2025-01-06", "2025-02-10", ...)`: an order of 50 sent that day, 50 in all come in parts on the others."""

    def make(on, *came, quantity=50):
        with at(f"{on} 09:00"):
            order = make_sent(engineer, (item, quantity), supplier=supplier)
        for when in came:
            with at(f"{when} 09:00"):
                receive_line(engineer, order.lines.get(), 50 // len(came))
        return order

    return make


def history(supplier):
    return queries.lead_histories([supplier.pk], TODAY)[supplier.pk]


def test_days_from_sent_to_all_come_and_so_far(supplier, sent):
    first = sent("2025-01-06", "2025-02-10")
    second = sent("2025-02-03", "2025-03-01", "2025-03-15")
    third = sent("2025-05-05", "2025-05-20", quantity=60)
    found = history(supplier)
    assert [(one.order.pk, one.days, one.came) for one in found.took] == [
        (third.pk, 28, False),
        (second.pk, 40, True),
        (first.pk, 35, True),
    ]
    assert (found.arrived, found.still_open) == ([40, 35], [28])


def test_closed_short_counts_what_came_last_or_how_long_it_waited(engineer, supplier, sent, at):
    part, nothing = sent("2025-01-06", "2025-02-10", quantity=60), sent("2025-01-06")
    with at("2025-04-07 09:00"):
        for order in (part, nothing):
            actions.close_order_short(by=engineer, once=once(), order=order, why="no more")
    found = history(supplier)
    assert (found.arrived, found.still_open) == ([35], [91])


def test_an_arrival_undone_is_none_and_drafts_are_no_orders_yet(engineer, supplier, item, sent):
    order = sent("2025-05-05", "2025-05-20")
    make_order(engineer, (item, 5), supplier=supplier)
    assert history(supplier).arrived == [15]
    reverse(engineer, order.lines.get().lots.get().movements.get())
    assert (history(supplier).arrived, history(supplier).still_open) == ([], [28])


def test_what_was_sent_later_is_not_seen_yet(supplier, sent):
    sent("2025-06-03")
    assert history(supplier).took == ()


def test_learned_from_own_orders_with_the_promise_to_start_from(engineer, supplier, sent, django_assert_num_queries):
    guessed = make_supplier(engineer, "Unknown")
    for week in range(9):
        start = day("2025-01-06").toordinal() + 7 * week
        sent(f"{day('2025-01-06').fromordinal(start)}", f"{day('2025-01-06').fromordinal(start + 45)}")
    with django_assert_num_queries(2):
        found = queries.lead_times([supplier.pk, guessed.pk], TODAY)
    assert (found[supplier.pk].orders, found[supplier.pk].basis) == (9, "orders")
    assert abs(found[supplier.pk].quantile(0.5) - 45) <= 2
    assert (found[guessed.pk].basis, found[None].basis) == ("guess", "guess")
    promised = make_supplier(engineer, "Promising", lead_days=60)
    only = queries.lead_times([promised.pk], TODAY)[promised.pk]
    assert (only.basis, only.promised_days) == ("promise", 60)
