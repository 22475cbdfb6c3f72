"""Sides rejected for their blank speak against its lot, in stock's comparison of lots."""

import pytest

from shop.cutting import actions
from shop.cutting.queries import faulty_blanks
from shop.stock.models import ClearlyWorse
from shop.stock.quality import standings
from shop.stock.queries import ledger_faults
from tests.cutting.makers import cut, once
from tests.stock.makers import make_lot

pytestmark = pytest.mark.django_db


def reject(bench, reason=None, **other):
    return cut(bench, outcome="rejected", reject_reason=reason or bench.reason, cut_s=60, **other)


@pytest.fixture
def compared(bench):
    """The bench's lot with twenty good sides, and a second one."""
    for _ in range(20):
        cut(bench, cut_s=60)
    return make_lot(bench.engineer, bench.item, 30, code="L2")


def in_turn(bench):
    return {"sure": [f"out-of-turn:{bench.lot.pk}"]}


def test_only_what_blames_the_blank_counts(bench):
    other = actions.add_reject_reason(by=bench.engineer, once=once(), name="Noisy groove", blame="stylus")
    reject(bench)
    reject(bench, other)
    cut(bench, outcome="test")
    assert faulty_blanks([bench.lot.pk, 99]) == {bench.lot.pk: 1}
    (one,) = standings(bench.item)
    assert (one.known.tried, one.known.faulty, one.known.elsewhere) == (3, 1, 1)


def test_a_bad_lot_is_known_with_the_third_side(bench, compared):
    for number in range(3):
        assert not ClearlyWorse.objects.exists(), number
        last = reject(bench, lot=compared, **in_turn(bench))
    assert ClearlyWorse.objects.get().lot == compared
    assert ledger_faults() == []
    actions.withdraw_side(by=bench.engineer, once=once(), side=last, reason="entered twice")
    assert not ClearlyWorse.objects.exists()
    assert ledger_faults() == []


def test_what_a_reason_blames_counts_for_what_was_rejected_before(bench, compared):
    for _ in range(3):
        reject(bench, lot=compared, **in_turn(bench))
    said = {"name": bench.reason.name, "is_active": True}
    for blame, worse in (("other", False), ("blank", True)):
        bench.reason.refresh_from_db()
        actions.change_reject_reason(
            by=bench.engineer, once=once(), reason=bench.reason, version=bench.reason.version, blame=blame, **said
        )
        assert ClearlyWorse.objects.exists() is worse
        assert ledger_faults() == []
