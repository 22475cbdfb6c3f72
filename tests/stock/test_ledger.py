"""The ledger's own promises: only added to, never below zero, kept balances equal to the sums."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, IntegrityError, connection, transaction

from shop import clock
from shop.appendonly import GUARDED, lift_guard, set_guard
from shop.stock import ledger
from shop.stock.models import Lot, Movement, MovementKind, Remark
from tests.stock.makers import count_it, make_item, make_lot, reverse, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(engineer):
    lot = make_lot(engineer, make_item(engineer), 10, code="K5")
    reverse(engineer, use(engineer, lot, 2))
    use(engineer, lot, 3)
    count_it(engineer, lot, 8, reason="one more")
    return lot


@pytest.mark.parametrize("table", ["stock_movement", "stock_remark"])
@pytest.mark.parametrize("deed", ["UPDATE {} SET note = 'x'", "DELETE FROM {}"])
def test_the_database_refuses_to_change_or_remove_a_line(lot, engineer, table, deed):
    Remark.objects.create(lot=lot, kind="held", at=clock.now(), by=engineer)
    refused = pytest.raises(DatabaseError, match="never changed or removed")
    with refused, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(deed.format(table))
    assert table in GUARDED


def test_the_database_refuses_less_than_none(lot):
    with pytest.raises(IntegrityError), transaction.atomic():
        Lot.objects.filter(pk=lot.pk).update(on_hand=-1)


@pytest.mark.parametrize(
    "line",
    [
        {"kind": "used", "change": 1},
        {"kind": "used", "change": 0},
        {"kind": "received", "change": -1},
        {"kind": "reversed", "change": 1},
        {"kind": "used", "change": -1, "balance": -1},
        {"kind": "stolen", "change": -1},
    ],
)
def test_the_database_refuses_a_line_that_makes_no_sense(lot, engineer, line):
    whole = {"lot": lot, "item": lot.item, "balance": 1, "at": clock.now(), "recorded_at": clock.now(), "by": engineer}
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.create(**whole | line)


@pytest.mark.django_db(transaction=True)
def test_a_move_outside_a_transaction_is_a_fault_of_the_program(engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    with pytest.raises(RuntimeError, match="inside an action"):
        ledger.move(lot=lot, kind=MovementKind.USED, change=-1, at=clock.now(), by=engineer)


def test_check_ledger_says_that_it_adds_up(lot, capsys):
    call_command("check_ledger")
    assert "adds up" in capsys.readouterr().out


def test_check_ledger_says_what_differs_and_fails(lot, engineer, capsys):
    other = make_item(engineer, "Stray", kind="part")
    Lot.objects.filter(pk=lot.pk).update(on_hand=99)
    lift_guard(connection, "stock_movement")
    wrong = lot.movements.order_by("id")[1]
    Movement.objects.filter(pk=wrong.pk).update(balance=5, item=other)
    set_guard(connection, "stock_movement", GUARDED["stock_movement"])
    with pytest.raises(CommandError) as failed:
        call_command("check_ledger")
    said = capsys.readouterr().out
    assert failed.value.returncode == 1
    assert "Lot K5" in said
    assert "99 on hand, but its movements add up to 8" in said
    assert f"Movement {wrong.pk}: balance 5, but the lot's movements up to it add up to 8" in said
    assert f"filed under item {other.pk}" in said
    assert len(said.splitlines()) == 3


def test_balances_run_in_the_order_of_writing_whatever_is_said_of_when(engineer):
    lot = make_lot(engineer, make_item(engineer), 10, received_on=clock.today() - timedelta(days=5))
    use(engineer, lot, 1)
    use(engineer, lot, 2, at=clock.now() - timedelta(days=2))
    assert list(lot.movements.order_by("id").values_list("balance", flat=True)) == [10, 9, 7]
