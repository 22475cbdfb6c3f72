"""Withdrawing a side: everything it took goes back, once, and who may."""

from uuid import uuid4

import pytest

from shop.cutting import actions, queries
from shop.cutting.models import Life, Side, Withdrawal
from shop.duties import actions as duties
from shop.duties.models import Meter
from shop.refusal import NotAllowed, Refused
from shop.stock import actions as stock
from shop.stock.ledger import owners
from shop.stock.models import Lot, MovementKind
from tests.cutting.makers import cut, make_bench, make_booking, once
from tests.makers import at, together

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(engineer):
    with at("2025-03-03 08:00"):
        made = make_bench(engineer)
    with at("2025-03-03 10:00"):
        yield made


def withdraw(by, side, reason="logged twice"):
    return actions.withdraw_side(by=by, once=once(), side=side, reason=reason)


def values():
    return dict(Meter.objects.values_list("key", "value"))


def test_all_of_it_goes_back(bench):
    cut(bench)
    before = (values(), Life.objects.values().get())
    side = cut(bench, cut_s=900)
    with at("2025-03-03 10:30"):
        taken = withdraw(bench.engineer, side)
    assert (values(), Life.objects.values().get()) == before
    assert Lot.objects.get(pk=bench.lot.pk).on_hand == 9
    assert (taken.movement.kind, taken.movement.reverses, taken.by) == (
        MovementKind.REVERSED,
        side.movement,
        bench.engineer,
    )
    assert Side.objects.filter(pk=side.pk).exists()


def test_a_booking_it_had_finished_is_open_again(bench):
    booking = make_booking(bench.engineer)
    a, b = booking.wanted.all()
    cut(bench, wanted=a)
    last = cut(bench, wanted=b)
    withdraw(bench.engineer, last)
    booking.refresh_from_db()
    assert booking.is_open
    assert [side.label for side in queries.uncut_of(booking)] == ["B"]


def test_a_cancelled_booking_stays_cancelled(bench):
    booking = make_booking(bench.engineer)
    side = cut(bench, wanted=booking.wanted.first())
    actions.cancel_booking(by=bench.engineer, once=once(), booking=booking)
    withdraw(bench.engineer, side)
    booking.refresh_from_db()
    assert booking.cancelled_at is not None


def test_chip_that_was_emptied_since_is_not_taken_back(bench):
    side = cut(bench)
    with at("2025-03-03 10:30"):
        duties.reset_meter(by=bench.engineer, once=once(), meter=Meter.objects.get(key="chip"))
        later = cut(bench)
        withdraw(bench.engineer, side)
    assert values() == {"chip": later.chip_mg, "line": later.cut_s}


def test_twice_is_refused(bench):
    side = cut(bench)
    withdraw(bench.engineer, side)
    with pytest.raises(Refused, match="already"):
        withdraw(bench.engineer, side)
    assert Lot.objects.get(pk=bench.lot.pk).on_hand == 10


def test_the_same_press_twice_is_one_withdrawal(bench):
    side, token = cut(bench), uuid4()
    done = [actions.withdraw_side(by=bench.engineer, once=token, side=side, reason="logged twice") for _ in range(2)]
    assert done[0] == done[1]
    assert Withdrawal.objects.count() == 1


def test_a_reason_is_needed(bench):
    with pytest.raises(Refused) as no:
        withdraw(bench.engineer, cut(bench), "  ")
    assert no.value.field == "reason"


def test_who_may(bench, assistant, owner, visitor):
    own = cut(bench, assistant)
    with at("2025-03-03 10:10"):
        withdraw(assistant, own)
    own = cut(bench, assistant)
    with at("2025-03-03 10:10:01"), pytest.raises(NotAllowed):
        withdraw(assistant, own)
    for by in (assistant, visitor):
        with pytest.raises(NotAllowed):
            withdraw(by, cut(bench))
    with at("2025-03-09 10:00"):
        withdraw(owner, own)


def test_the_ledger_sends_you_to_the_side_instead_of_undoing_its_movement(bench):
    side = cut(bench)
    owner = owners([side.movement_id])[side.movement_id]
    assert (owner.label, owner.link) == (f"side {side.pk}", side.get_absolute_url())
    with pytest.raises(Refused):
        stock.reverse_movement(by=bench.engineer, once=once(), movement=side.movement)
    assert Lot.objects.get(pk=bench.lot.pk).on_hand == 9
    taken = withdraw(bench.engineer, side)
    assert owners([taken.movement_id])[taken.movement_id].link == side.get_absolute_url()


@pytest.mark.django_db(transaction=True)
def test_two_withdrawals_at_once_are_one(engineer, owner):
    bench = make_bench(engineer)
    side = cut(bench)
    done = together(lambda: withdraw(engineer, side), lambda: withdraw(owner, side))
    assert sum(isinstance(result, Withdrawal) for result in done) == 1, done
    assert sum(isinstance(result, Refused) for result in done) == 1, done
    assert Lot.objects.get(pk=bench.lot.pk).on_hand == 10
    assert Life.objects.get().sides == 0
