"""Which lots are worse than their fellows: what counts, who is compared, and what is kept of it."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.concern import Grade
from shop.stock import actions, quality
from shop.stock.concerns import concerns
from shop.stock.models import ClearlyWorse, Lot, Movement
from shop.stock.queries import ledger_faults
from tests.stock.makers import (
    count_it,
    inspect,
    make_defect,
    make_item,
    make_liquid,
    make_lot,
    make_supplier,
    once,
    reverse,
    use,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def item(engineer):
    return make_item(engineer)


@pytest.fixture
def pinholes(engineer):
    return make_defect(engineer, "Pinholes")


@pytest.fixture
def knocked(engineer):
    return actions.add_defect(by=engineer, once=once(), name="Knocked", blames_lot=False)


def spoil(by, lot, defect, quantity=1):
    return actions.spoil_stock(by=by, once=once(), lot=lot, quantity=quantity, defect=defect)


def known(item):
    """(tried, faulty) of each lot of the item, by code."""
    return {one.lot.code: (one.known.tried, one.known.faulty) for one in quality.standings(item)}


@pytest.fixture
def fellows(engineer, item, pinholes):
    """Five good lots of forty, two of them with one faulty."""
    lots = []
    for number in range(5):
        lot = make_lot(engineer, item, 40, code=f"G{number}", received_on=clock.today() - timedelta(days=200 - number))
        _use(engineer, lot, 38)
        if number < 2:
            spoil(engineer, lot, pinholes)
        lots.append(lot)
    return lots


def _use(by, lot, quantity):
    actions.use_stock(by=by, once=once(), lot=lot, quantity=quantity, sure=_every_turn())


def _every_turn():
    return [f"out-of-turn:{pk}" for pk in Lot.objects.values_list("pk", flat=True)]


# What counts ----------------------------------------------------------------------------------------------------------


def test_what_was_used_tested_or_spoiled_was_tried(engineer, item, pinholes):
    lot = make_lot(engineer, item, 50, code="A")
    use(engineer, lot, 5)
    actions.test_stock(by=engineer, once=once(), lot=lot, quantity=2)
    spoil(engineer, lot, pinholes, 3)
    actions.return_stock(by=engineer, once=once(), lot=lot, quantity=4)
    count_it(engineer, lot, 30, reason="six are missing")
    lot.refresh_from_db()
    assert (lot.taken, known(item)) == (10, {"A": (10, 3)})


def test_what_happened_here_does_not_count(engineer, item, pinholes, knocked):
    lot = make_lot(engineer, item, 50, code="A")
    use(engineer, lot, 5)
    spoil(engineer, lot, knocked, 4)
    spoil(engineer, lot, pinholes)
    assert known(item) == {"A": (6, 1)}


def test_what_was_undone_does_not_count(engineer, item, pinholes):
    lot = make_lot(engineer, item, 50, code="A")
    use(engineer, lot, 5)
    reverse(engineer, spoil(engineer, lot, pinholes, 4))
    lot.refresh_from_db()
    assert (lot.taken, known(item)) == (5, {"A": (5, 0)})


def test_a_look_over_counts_all_that_was_looked_at(engineer, item, pinholes):
    lot = make_lot(engineer, item, 50, code="A")
    inspect(engineer, lot, 10, "accept", (pinholes, 2))
    assert known(item) == {"A": (10, 2)}
    use(engineer, lot, 20)
    assert known(item) == {"A": (22, 2)}


def test_what_went_back_for_its_faults_counts_against_it(engineer, item, pinholes, knocked):
    lot = make_lot(engineer, item, 50, code="A")
    inspect(engineer, lot, 10, "return", (pinholes, 4), (knocked, 1))
    assert known(item) == {"A": (10, 4)}


def test_records_elsewhere_are_asked(engineer, item, monkeypatch):
    lot = make_lot(engineer, item, 50, code="A")
    monkeypatch.setattr(quality, "_questions", {"x": lambda pks: dict.fromkeys(pks, 2), "y": lambda pks: {}})
    use(engineer, lot, 5)
    assert known(item) == {"A": (5, 2)}


# Who is compared ------------------------------------------------------------------------------------------------------


def test_a_lot_like_its_fellows_is_no_worse(engineer, item, fellows):
    assert [one.is_worse for one in quality.standings(item)] == [False] * 5
    assert {one.verdict.comparisons for one in quality.standings(item)} == {5}
    assert not ClearlyWorse.objects.exists()


@pytest.fixture
def bad(engineer, item, fellows, pinholes):
    lot = make_lot(engineer, item, 60, code="BAD")
    _use(engineer, lot, 16)
    spoil(engineer, lot, pinholes, 8)
    return lot


def test_a_lot_that_is_clearly_worse_is_kept_as_that(bad, item, fellows):
    worse = ClearlyWorse.objects.get()
    assert (worse.lot, worse.tried, worse.faulty) == (bad, 24, 8)
    assert (worse.fellows, worse.fellows_tried, worse.fellows_faulty, worse.comparisons) == (5, 192, 2, 6)
    assert worse.chance < 0.001
    assert ledger_faults() == []


def test_it_is_no_longer_kept_once_it_is_not_so(engineer, bad, pinholes):
    for movement in Movement.objects.filter(lot=bad, kind="spoiled"):
        reverse(engineer, movement)
    assert not ClearlyWorse.objects.exists()


def test_too_few_are_not_compared_yet(engineer, item, fellows, pinholes):
    """Three found when a box is opened are the worst of all that lie in it."""
    spoil(engineer, make_lot(engineer, item, 60, code="OPENED"), pinholes, 3)
    newest = quality.standings(item)[0]
    assert (newest.lot.code, newest.verdict, newest.fellows) == ("OPENED", None, 0)
    assert {one.fellows for one in quality.standings(item)[1:]} == {4}
    assert not ClearlyWorse.objects.exists()


def test_three_rejected_on_the_lathe_are_enough(engineer, item, fellows, monkeypatch):
    lot = make_lot(engineer, item, 60, code="NEW")
    monkeypatch.setattr(quality, "_questions", {"x": lambda pks: {lot.pk: 3}})
    _use(engineer, lot, 4)
    quality.look_again(item)  # as logging a rejected side does
    assert ClearlyWorse.objects.get().lot == lot


def test_a_good_one_is_left_to_the_hourly_look_unless_a_lot_stands_as_worse(engineer, item, fellows, monkeypatch):
    looked = []
    monkeypatch.setattr(quality, "look_again", lambda item: looked.append(item.pk))
    lot = make_lot(engineer, item, 60, code="NEW")
    _use(engineer, lot, 4)
    assert looked == []
    ClearlyWorse.objects.create(
        lot=lot,
        worked_at=clock.now(),
        tried=4,
        faulty=3,
        fellows=2,
        fellows_tried=90,
        fellows_faulty=1,
        comparisons=2,
        chance=0.001,
    )
    _use(engineer, lot, 1)
    assert looked == [item.pk]


def test_a_lot_alone_has_no_fellows(engineer, item, pinholes):
    lot = make_lot(engineer, item, 60)
    use(engineer, lot, 20)
    spoil(engineer, lot, pinholes, 20)
    assert [one.verdict for one in quality.standings(item)] == [None]


def test_lots_older_than_two_years_are_no_fellows(engineer, item, fellows):
    old = make_lot(engineer, item, 40, code="OLD", received_on=clock.today() - timedelta(days=1200))
    _use(engineer, old, 30)
    assert "OLD" not in known(item)


def test_only_so_many_are_fellows(engineer, item, fellows, monkeypatch):
    monkeypatch.setattr(quality, "MOST_FELLOWS", 3)
    assert list(known(item)) == ["G4", "G3", "G2"]


def test_only_blanks_are_compared(engineer, pinholes, django_assert_num_queries):
    liquid = make_liquid(engineer)
    with django_assert_num_queries(0):
        quality.look_again(liquid)


def test_suppliers_are_summed_up(engineer, item, pinholes):
    supplier = make_supplier(engineer)
    for code, by, faulty in (("A", supplier, 1), ("B", supplier, 2), ("C", None, 0)):
        lot = make_lot(engineer, item, 30, code=code, supplier=by)
        _use(engineer, lot, 10)
        if faulty:
            spoil(engineer, lot, pinholes, faulty)
    make_lot(engineer, item, 30, code="D", supplier=supplier)
    found = quality.by_supplier(quality.standings(item))
    assert [(one.supplier, one.lots, one.tried, one.faulty) for one in found] == [
        (supplier, 2, 23, 3),
        (None, 1, 10, 0),
    ]


# What hangs on it -----------------------------------------------------------------------------------------------------


def test_it_is_a_concern_until_it_is_held(engineer, bad):
    (worry,) = [one for one in concerns(clock.now()) if "worse" in one.key]
    assert worry.grade == Grade.CARE
    assert worry.key == f"stock:worse:lot-{bad.pk}"
    said = worry.reason.replace("\u00a0", " ")
    assert "8 of 24 tried were faulty, 33 % (18 % to 53 %); of 5 other lots 2 of 192, 1.0 %." in said
    assert "under 1 %, allowed for 6 comparisons" in said
    assert worry.link == f"/stock/lots-compared/?item={bad.item_id}#lot-{bad.pk}"
    actions.hold_lot(by=engineer, once=once(), lot=bad, why="Clearly worse.")
    assert [one.key for one in concerns(clock.now()) if "lot" in one.key and str(bad.pk) in one.key] == [
        f"stock:held:lot-{bad.pk}"
    ]


def test_the_concern_takes_no_query_more(bad):
    with CaptureQueriesContext(connection) as with_it:
        list(concerns(clock.now()))
    ClearlyWorse.objects.all().delete()
    with CaptureQueriesContext(connection) as without:
        list(concerns(clock.now()))
    assert len(with_it) == len(without)


def test_what_a_defect_speaks_against_counts_for_what_was_spoiled_before(engineer, bad, pinholes):
    actions.change_defect(
        by=engineer, once=once(), defect=pinholes, version=pinholes.version, name="Pinholes", blames_lot=False
    )
    assert not ClearlyWorse.objects.exists()
    pinholes.refresh_from_db()
    actions.change_defect(
        by=engineer, once=once(), defect=pinholes, version=pinholes.version, name="Pinholes", blames_lot=True
    )
    assert ClearlyWorse.objects.get().lot == bad


def test_the_check_names_what_differs(bad, capsys):
    Lot.objects.filter(pk=bad.pk).update(taken=99)
    with pytest.raises(CommandError, match="differences"):
        call_command("check_ledger")
    assert "Lot BAD" in capsys.readouterr().out
    Lot.objects.filter(pk=bad.pk).update(taken=24)
    assert ledger_faults() == []
    ClearlyWorse.objects.all().delete()
    assert [fault for fault in ledger_faults() if "BAD" in fault]
    quality.compare_every_hour()
    assert ledger_faults() == []


@pytest.mark.sqlite
def test_what_was_spoiled_is_read_by_an_index_of_its_own(bad):
    rows = Movement.objects.filter(kind="spoiled", lot__in=[bad.pk], defect__isnull=False).values("lot")
    assert "stock_lot_spoiled" in rows.explain()
    family = Lot.objects.filter(quality._BEGUN_LOT, item=bad.item).order_by("-received_on", "-id")[:5]
    assert "stock_lots_of_item" in family.explain()
