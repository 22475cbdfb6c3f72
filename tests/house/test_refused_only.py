"""A page whose form could only be refused shows none: it says what stands, and links on."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.cutting import actions as cutting
from shop.stock import actions as stock
from shop.stock.models import Movement
from tests.cutting import makers as cut
from tests.makers import anyway, at
from tests.morning import makers as morning
from tests.stock import makers as of_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def shown(engineer, client_of):
    """`shown(address, *keys)`: the page's text, which has no form of its own to press."""

    def show(address, *keys, by=engineer):
        answer = client_of(by).get(reverse(address, args=keys))
        assert answer.status_code == 200
        page = answer.content.decode()
        main = page[page.index("<main") :]
        assert 'name="once"' not in main
        assert 'type="submit"' not in main
        assert '<p class="actions"><a class="button' in main or '<p class="notice"><a' in main
        return main

    return show


def test_of_bookings(engineer, shown):
    open_one = cut.make_booking(engineer)
    assert "is open." in shown("cutting:reopen-booking", open_one.pk)
    cancelled = cutting.cancel_booking(by=engineer, once=uuid4(), booking=cut.make_booking(engineer))
    finished = anyway(cutting.finish_booking, by=engineer, booking=cut.make_booking(engineer))
    for booking, words in ((cancelled, "was cancelled"), (finished, "was finished")):
        for name in ("change", "finish", "cancel"):
            assert words in shown(f"cutting:{name}-booking", booking.pk)


def test_of_a_booking_that_is_all_cut(engineer, shown):
    bench = cut.make_bench(engineer)
    booking = cut.make_booking(engineer)
    for wanted in booking.wanted.all():
        cut.cut(bench, wanted=wanted)
    assert "Every side of it has a good cut" in shown("cutting:reopen-booking", booking.pk)


def test_of_sides(engineer, shown):
    side = cut.cut(cut.make_bench(engineer))
    cutting.withdraw_side(by=engineer, once=uuid4(), side=side, reason="entered twice")
    page = shown("cutting:withdraw-side", side.pk)
    assert "entered twice" in page
    assert side.get_absolute_url() in page


def test_of_styli(engineer, shown):
    bench = cut.make_bench(engineer)
    assert "R-1 is in Lathe." in shown("cutting:fit-stylus", bench.stylus.pk)
    assert "It is not retired." in shown("cutting:reinstate-stylus", bench.stylus.pk)
    spare = cut.make_stylus(engineer, bench.kind, "R-2")
    assert "There is nothing to take off." in shown("cutting:take-off-stylus", spare.pk)
    assert "has not been in a head yet" in shown("cutting:look-over-stylus", spare.pk)
    cutting.retire_stylus(by=engineer, once=uuid4(), stylus=bench.stylus, reason="chipped")
    for name in ("fit", "retire", "look-over"):
        assert "R-1 was retired" in shown(f"cutting:{name}-stylus", bench.stylus.pk)


def test_of_lots(engineer, assistant, shown):
    lot = of_stock.make_lot(engineer, of_stock.make_item(engineer), 2, code="K7")
    assert "Lot K7 is not on hold." in shown("stock:release-lot", lot.pk)
    stock.hold_lot(by=engineer, once=uuid4(), lot=lot, why="dull in one corner")
    assert "dull in one corner" in shown("stock:hold-lot", lot.pk)
    for name in ("use", "test"):
        assert "Only an engineer may overrule that." in shown(f"stock:{name}-stock", lot.pk, by=assistant)
    of_stock.use(engineer, lot, 2, overrule="looked at both")
    of_stock.make_defect(engineer)
    for name in ("use", "test", "spoil", "return"):
        assert "There is nothing left in lot K7." in shown(f"stock:{name}-stock", lot.pk)


def test_of_movements(engineer, shown):
    lot = of_stock.make_lot(engineer, of_stock.make_item(engineer), 2)
    taken = of_stock.use(engineer, lot)
    undoing = of_stock.reverse(engineer, taken)
    assert "It was undone" in shown("stock:reverse-movement", taken.pk)
    assert "already undoes another" in shown("stock:reverse-movement", undoing.pk)
    assert "changed nothing" in shown("stock:reverse-movement", of_stock.count_it(engineer, lot, 2).pk)
    assert Movement.objects.count() == 4


def test_of_an_item_that_is_no_longer_kept(engineer, shown):
    item = of_stock.make_item(engineer)
    item.is_active = False
    item.save()
    assert "is no longer kept" in shown("stock:receive-delivery", item.pk)


def test_of_checks(engineer, assistant, shown):
    with at("2025-03-03 08:05"):
        morning.room_in_order(engineer)
        morning.make_list(engineer)
        clear = morning.make_check(assistant)
        assert "That verdict is clear to cut" in shown("morning:overrule-check", clear.pk)
        held = morning.make_check(assistant, no=[morning.EXITS])
        counts = morning.correct_check(assistant, held, no=[morning.EXITS, morning.CAN])
        assert counts.get_absolute_url() in shown("morning:overrule-check", held.pk)
        morning.overrule(engineer, counts, "The can is outside.")
        assert "The can is outside." in shown("morning:overrule-check", counts.pk)
        care = morning.make_check(assistant, no=[morning.CAN])
    with at("2025-03-04 08:05"):
        assert "The day of that check is over" in shown("morning:overrule-check", care.pk)
