"""What stock is worried about, and when it stops."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock, concern
from shop.concern import Grade, told
from shop.people.fields import retold
from shop.stock import actions, claims
from shop.stock.claims import Claim
from shop.stock.concerns import concerns
from shop.stock.models import Item, Order, ReorderFigure
from tests.stock.makers import (
    day,
    inspect,
    make_defect,
    make_item,
    make_liquid,
    make_lot,
    make_sent,
    make_supplier,
    receive_line,
    use,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def claimed(monkeypatch):
    wanted = []
    monkeypatch.setattr(claims, "_questions", {})
    claims.register_claims("bookings", lambda day: wanted)
    return wanted


def found(prefix="stock:"):
    return {c.key: c for c in concerns(clock.now()) if c.key.startswith(prefix)}


def test_an_empty_room_worries_nobody(room_row, claimed):
    assert found() == {}


def test_enough_is_no_concern_and_no_minimum_is_none(engineer, claimed):
    make_lot(engineer, make_item(engineer, minimum=5), 5)
    make_item(engineer, "Hose", kind="part")
    assert found() == {}


def test_blanks_below_their_minimum_by_size(engineer, claimed):
    item = make_item(engineer, minimum=5)
    lot = make_lot(engineer, item, 5)
    use(engineer, lot)
    [low] = found().values()
    assert (low.key, low.grade) == ("stock:low:blank-14", Grade.NOTE)
    assert low.headline == "4 14 inch blanks free, below 5"
    use(engineer, lot, 4)
    [low] = found().values()
    assert (low.grade, low.headline) == (Grade.CARE, "No usable 14 inch blanks")


def test_blanks_that_bookings_want_are_not_free(engineer, claimed, at):
    with at("2025-03-03 09:00"):
        make_lot(engineer, make_item(engineer, minimum=2), 5)
        claimed.append(Claim(14, 3, day("2025-03-10"), "B1", "/1"))
        assert found() == {}
        claimed.append(Claim(14, 1, day("2025-03-12"), "B2", "/2"))
        [low] = found().values()
        assert (low.grade, low.headline) == (Grade.NOTE, "1 14 inch blank free, below 2")
        claimed.append(Claim(14, 3, day("2025-03-11"), "B3", "/3"))
        [low] = found().values()
        assert (low.grade, low.headline) == (Grade.CARE, "2 blanks of 14 inch short for what is booked")
        assert "run out at B3 on 11 March 2025" in low.reason
        assert low.by == clock.day_bounds(day("2025-03-11"))[0]


def test_another_item_below_its_minimum(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    [low] = found().values()
    assert (low.key, low.grade) == (f"stock:low:item-{item.pk}", Grade.CARE)
    lot = make_lot(engineer, item, 1500)
    assert found() == {}
    use(engineer, lot, 700)
    [low] = found().values()
    assert (low.grade, low.reason) == (Grade.NOTE, "800\u00a0ml usable (800\u00a0ml on hand); the minimum is 1\u00a0l.")
    assert low.link == item.get_absolute_url()


def test_what_is_held_or_past_does_not_count(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    lot = make_lot(engineer, item, 1500)
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="cloudy")
    assert found("stock:low").popitem()[1].grade == Grade.CARE


def test_a_lot_near_and_past_its_date(engineer, claimed, at):
    with at("2025-01-02 09:00"):
        item = make_item(engineer, warn_days=10)
        lot = make_lot(engineer, item, 5, code="K", best_before=day("2025-03-20"))
    near, past = f"stock:near:lot-{lot.pk}", f"stock:past:lot-{lot.pk}"
    said = {
        "2025-03-09 23:59": {},
        "2025-03-10 00:01": {near: (Grade.NOTE, "Lot K is usable for 10 more days")},
        "2025-03-19 12:00": {near: (Grade.NOTE, "Lot K is usable only tomorrow")},
        "2025-03-20 23:59": {near: (Grade.NOTE, "Lot K is usable only today")},
        "2025-03-21 00:01": {past: (Grade.CARE, "Lot K is past its date")},
    }
    for when, expected in said.items():
        with at(when):
            assert {key: (c.grade, c.headline) for key, c in found().items()} == expected, when
    with at("2025-03-21 09:00"):
        actions.spoil_stock(by=engineer, once=uuid4(), lot=lot, quantity=5, defect=make_defect(engineer))
        assert found() == {}


def test_too_few_blanks_say_how_many_of_them_lie_on_hold(engineer, claimed):
    item = make_item(engineer, minimum=4)
    lot = make_lot(engineer, item, 5, code="K")
    make_lot(engineer, item, 2, code="K2")
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="pinholes")
    low = found()["stock:low:blank-14"]
    assert low.reason == "2 usable (7 on hand, 5 of them on hold); the minimum is 4."
    assert low.what_to_do == "Look whether a held lot can be released; else order more, or move a booking."
    actions.spoil_stock(by=engineer, once=uuid4(), lot=lot, quantity=5, defect=make_defect(engineer))
    assert found()["stock:low:blank-14"].what_to_do == "Order more, or move a booking."


def test_a_lot_on_hold_until_it_is_released_or_gone(engineer, claimed):
    lot = make_lot(engineer, make_item(engineer), 5, code="K", best_before=clock.today() + timedelta(days=2))
    assert set(found()) == {f"stock:near:lot-{lot.pk}"}
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="pinholes")
    [held] = found().values()
    assert (held.key, held.grade) == (f"stock:held:lot-{lot.pk}", Grade.NOTE)
    assert held.reason.startswith("pinholes (Edvin Maarsk, ")
    actions.release_lot(by=engineer, once=uuid4(), lot=lot, note="clean under the lamp")
    assert set(found()) == {f"stock:near:lot-{lot.pk}"}


def test_they_are_gathered_with_everybody_s(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    assert f"stock:low:item-{item.pk}" in {c.key for c in concern.gather(clock.now())}


def test_asked_as_often_whatever_there_is(engineer, claimed, django_assert_num_queries):
    def grow(to):
        for n in range(to):
            item = make_item(engineer, f"Part {to} {n}", kind="part", minimum=5)
            lot = make_lot(engineer, item, 2, best_before=clock.today() + timedelta(days=1))
            if n % 2:
                actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="?")
        asked = [(item, 5) for item in Item.objects.all()]
        order = make_sent(engineer, *asked, supplier=make_supplier(engineer, f"Supplier {to}", lead_days=9))
        Order.objects.filter(pk=order.pk).update(expected_on=clock.today() - timedelta(days=1))
        receive_line(engineer, order.lines.all()[0], 1)

    for to, many in ((3, 7), (20, 48)):
        grow(to)
        with django_assert_num_queries(2):
            assert len(found()) == many


# Orders ---------------------------------------------------------------------------------------------------------------


def test_an_order_is_late_from_the_day_after_until_it_came_or_has_a_new_day(engineer, claimed, at):
    with at("2025-03-03 09:00"):
        item, foil = make_item(engineer, "Hose", kind="part"), make_item(engineer, "Foil", kind="part")
        order = make_sent(engineer, (item, 5), (foil, 3), supplier=make_supplier(engineer, "Faraway", lead_days=7))
    with at("2025-03-10 23:59"):
        assert found() == {}
    with at("2025-03-11 00:01"):
        [late] = found().values()
        assert (late.key, late.grade) == (f"stock:late:order-{order.pk}", Grade.CARE)
        assert late.headline == f"Order {order.pk} from Faraway is 1 day late"
        assert late.reason == "It was expected on 10 March 2025. Still to come: 5 of Hose, 3 of Foil."
        assert late.link == order.get_absolute_url()
        receive_line(engineer, order.lines.get(item=item), 5)
        assert found()[late.key].reason.endswith("Still to come: 3 of Foil.")
        actions.promise_anew(
            by=engineer, once=uuid4(), order=order, expected_on=day("2025-03-14"), why="the van broke down"
        )
        assert found() == {}
    with at("2025-03-15 09:00"):
        assert found()[late.key].headline.endswith("is 1 day late")
        receive_line(engineer, order.lines.get(item=foil), 3)
        assert found() == {}


def test_one_that_was_closed_or_has_no_day_is_never_late(engineer, claimed, at):
    with at("2025-03-03 09:00"):
        item = make_item(engineer, "Hose", kind="part")
        order = make_sent(engineer, (item, 5), supplier=make_supplier(engineer, "Faraway", lead_days=7))
        make_sent(engineer, (item, 5), supplier=make_supplier(engineer, "Vague"), sure=["no-day"])
        actions.close_order_short(by=engineer, once=uuid4(), order=order, why="not made any more")
    with at("2025-05-03 09:00"):
        assert found() == {}


def test_an_arrival_that_comes_after_bookings_run_out_comes_too_late(engineer, claimed, at):
    key = "stock:too-late:blank-14"
    with at("2025-03-03 09:00"):
        item = make_item(engineer)
        make_lot(engineer, item, 5)
        supplier = make_supplier(engineer, "Faraway", lead_days=17)
        order = make_sent(engineer, (item, 50), supplier=supplier)
        claimed.append(Claim(14, 5, day("2025-03-10"), "booking B-1", "/1"))
        assert found(key) == {}
        claimed.append(Claim(14, 2, day("2025-03-18"), "booking B-2", "/2"))
        late = found(key)[key]
        assert late.grade == Grade.CARE
        assert late.headline == f"Order {order.pk} comes too late for booking B-2"
        assert "on 18 March 2025" in late.reason
        assert "50 are expected on 20 March 2025, 2 days later." in late.reason
        assert late.by == clock.day_bounds(day("2025-03-18"))[0]
        sooner = make_sent(engineer, (item, 1), supplier=supplier, expected_on=day("2025-03-18"))
        assert found(key)[key].headline.endswith("comes too late for booking B-2")  # one is not two
        make_sent(engineer, (item, 1), supplier=supplier, expected_on=day("2025-03-17"))
        assert found(key) == {}
        receive_line(engineer, sooner.lines.get(), 1)
        assert found(key) == {}


def test_what_is_short_with_nothing_on_its_way_or_of_another_size_does_not_come_too_late(engineer, claimed, at):
    with at("2025-03-03 09:00"):
        item, other = make_item(engineer), make_item(engineer, "12-inch blank", blank_in=12, kind="blank")
        claimed.append(Claim(14, 2, day("2025-03-18"), "booking B-2", "/2"))
        assert found("stock:too-late") == {}
        make_sent(engineer, (other, 50))
        assert found("stock:too-late") == {}
        late = make_sent(engineer, (item, 50), supplier=make_supplier(engineer, "Faraway", lead_days=2))
    with at("2025-03-08 09:00"):  # has no day that could be believed: its being late is said instead
        assert found("stock:too-late") == {}
        assert f"stock:late:order-{late.pk}" in found()


def test_what_is_left_over_from_an_earlier_day_wants_blanks_now(engineer, claimed, at):
    with at("2026-11-25 09:00"):
        item = make_item(engineer)
        order = make_sent(engineer, (item, 50), supplier=make_supplier(engineer, "Faraway", lead_days=7))
        claimed.append(Claim(14, 1, day("2026-11-27"), "booking B-2", "/2"))
        low, late = found("stock:low")["stock:low:blank-14"], found("stock:too")["stock:too-late:blank-14"]
        assert "at booking B-2 on 27 November 2026" in low.reason
        assert late.reason.endswith("expected on 2 December 2026, 5 days later.")
        assert low.by == late.by == clock.day_bounds(day("2026-11-27"))[0]
    with at("2026-11-27 09:00"):
        assert "at booking B-2 today, also with" in found()["stock:too-late:blank-14"].reason
        assert "They run out at booking B-2 today." in found()["stock:low:blank-14"].reason
    with at("2026-11-30 09:00"):
        low, late = found("stock:low")["stock:low:blank-14"], found("stock:too")["stock:too-late:blank-14"]
        assert "They run out at booking B-2, left over from 27 November 2026." in low.reason
        assert "at booking B-2, left over from 27 November 2026, also with what is to come by then" in late.reason
        assert late.reason.endswith("expected on 2 December 2026, 2 days from today.")
        assert (low.by, late.by) == (None, None)
        assert late.headline == f"Order {order.pk} comes too late for booking B-2"
    with at("2026-12-02 09:00"):  # what comes on that day comes in time
        assert found("stock:too") == {}


# Looking over ---------------------------------------------------------------------------------------------------------


def test_blanks_that_came_on_an_order_are_to_be_looked_over(engineer, claimed, at):
    with at("2025-03-03 09:00"):
        item, foil = make_item(engineer), make_item(engineer, "Foil", kind="part")
        order = make_sent(engineer, (item, 50), (foil, 5))
        lot = receive_line(engineer, order.lines.get(item=item), 40, code="K")
        receive_line(engineer, order.lines.get(item=foil), 5)
        make_lot(engineer, item, 3)
        key = f"stock:look-over:lot-{lot.pk}"
        [look] = found().values()
        assert (look.key, look.grade, look.headline) == (key, Grade.NOTE, "Lot K was not looked over yet")
        assert look.reason == "It came on 3 March 2025; 40 on hand."
    with at("2025-04-02 09:00"):
        assert set(found("stock:look-over")) == {key}
    with at("2025-04-03 09:00"):  # by then it is judged by how it cuts
        assert found("stock:look-over") == {}
    with at("2025-03-04 09:00"):
        actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="dull")
        assert set(found()) == {f"stock:held:lot-{lot.pk}"}
        actions.release_lot(by=engineer, once=uuid4(), lot=lot, note="clean under the lamp")
        inspect(engineer, lot, 5, "accept")
        assert found() == {}


def test_amounts_that_are_measured_go_with_each_worry_as_they_stand_in_it(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    lot = make_lot(engineer, item, 1500, best_before=clock.today())
    use(engineer, lot, 700)
    worries = found()
    assert set(worries) == {f"stock:low:item-{item.pk}", f"stock:near:lot-{lot.pk}"}
    for worry in worries.values():
        kept = {one.text: (one.kind, one.value) for one in worry.quantities}
        assert kept["800\u00a0ml"] == ("liquid", 800)
        assert told(worry.reason, worry.quantities, lambda kind, value: f"<{value}>").count("<800>") >= 1
        assert "ml" not in told(worry.reason, worry.quantities, lambda kind, value: "some")


def test_what_is_counted_by_the_piece_has_no_other_unit(engineer, claimed):
    make_item(engineer, "Hose", kind="part", minimum=3)
    (worry,) = found().values()
    assert worry.quantities == ()


@pytest.mark.parametrize(
    ("unit", "kind", "reads", "room_says", "reader_says"),
    [
        ("ml", "liquid", {"liquid_unit": "gal"}, ("ml", "l"), ("US gal",)),
        ("mm", "part", {"length_unit": "in"}, ("mm",), ("in",)),
    ],
)
def test_each_worry_names_every_amount_so_that_each_reader_is_told_in_their_own_unit(
    engineer, visitor, claimed, at, unit, kind, reads, room_says, reader_says
):
    """Low, to be ordered, on hold, past, near, late: all of one measured item, whichever unit the room speaks."""
    for name, value in reads.items():
        setattr(visitor, name, value)

    def item(name, **other):
        return make_item(engineer, name, kind=kind, unit=unit, blank_in=None, **other)

    with at("2025-10-01 08:00"):
        make_lot(engineer, item("Low", minimum=2500), 1200)
        held = make_lot(engineer, item("Held"), 3210)
        actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="cloudy")
        make_lot(engineer, item("Near"), 1230, best_before=day("2025-10-20"))
        make_lot(engineer, item("Past"), 1240, best_before=day("2025-10-02"))
        late = make_sent(engineer, (item("Late"), 2345), supplier=make_supplier(engineer, "Faraway", lead_days=3))
        figures = {"worked_at": clock.now(), "state": "", "booked": 0, "weeks": 40, "order_by": clock.today()}
        figures |= {"usable": 1350, "reorder_point": 2000, "quantity": 4321, "chance_out": 0.4}
        for name, per_week, on_order in (("Soon", 678.0, 1570), ("Slow", 0.2, 0)):
            soon = item(name)
            make_lot(engineer, soon, 1350)
            actions.hold_lot(by=engineer, once=uuid4(), lot=make_lot(engineer, soon, 1460), why="cloudy")
            if on_order:
                make_sent(engineer, (soon, on_order), supplier=late.supplier)
            ReorderFigure.objects.create(item=soon, per_week=per_week, on_order=on_order, **figures)
    with at("2025-10-06 08:00"):
        ReorderFigure.objects.update(worked_at=clock.now())
        worries = found()
    assert {key.split(":")[1] for key in worries} == {"low", "held", "near", "past", "late", "order"}
    assert sum(key.startswith("stock:order:") for key in worries) == 2
    amount = re.compile(rf"[0-9]\u00a0(?:{'|'.join(room_says)})\b")
    own = re.compile(rf"[0-9]\u00a0(?:{'|'.join(reader_says)})\b")
    for key, worry in worries.items():
        texts = (worry.headline, worry.reason, worry.what_to_do)
        assert any(amount.search(text) for text in texts), key
        told_to_visitor = [retold(text, worry.quantities, visitor) for text in texts]
        if "liquid_unit" in reads:  # which is too little for a figure in gallons
            told_to_visitor = [text.replace("under 1\u00a0ml", "") for text in told_to_visitor]
        assert not [text for text in told_to_visitor if amount.search(text)], key
        assert any(own.search(text) for text in told_to_visitor), key
