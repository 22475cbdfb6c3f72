"""Logging a side: what it takes from where, and everything it refuses or asks about."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from shop import clock
from shop.cutting import actions
from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking, Life, Side
from shop.duties.models import Meter
from shop.refusal import Doubtful, NotAllowed, NotEnough, Refused, TokenTrouble
from shop.stock import actions as stock
from shop.stock.models import Lot, Movement, MovementKind
from tests.cutting.makers import cut, make_bench, make_booking, make_stylus, once, side_facts
from tests.makers import at, moment, together
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(engineer):
    with at("2025-03-03 08:00"):
        made = make_bench(engineer)
    with at("2025-03-03 10:00"):
        yield made


def state(bench):
    """Everything a side touches."""
    return (
        Lot.objects.get(pk=bench.lot.pk).on_hand,
        list(Life.objects.values_list("cut_s", "length_mm", "sides")),
        list(Meter.objects.order_by("key").values_list("value", flat=True)),
        Movement.objects.count(),
        Side.objects.count(),
    )


def test_one_press_takes_the_blank_and_adds_hours_metres_and_chip(bench, assistant):
    side = cut(bench, assistant)
    life = Life.objects.get()
    assert side.movement.kind == MovementKind.USED
    assert (side.movement.change, side.movement.balance) == (-1, 9)
    assert (life.cut_s, life.sides) == (1200, 1)
    # 20 min at 33 1/3 from 292.6 mm at 125 um: last groove at 125.93 mm; length by numerical integration 438.3 m
    assert side.inner_mm == pytest.approx(125.93, abs=0.01)
    assert life.length_mm == side.length_mm == pytest.approx(438_280, rel=1e-3)
    # 56 um wide at 90 degrees is 784 um2; times 438.3 m and 1.6 g/cm3
    assert side.chip_mg == pytest.approx(550, abs=2)
    assert Meter.objects.get(key="chip").value == side.chip_mg
    assert Meter.objects.get(key="line").value == 1200
    assert (side.by, side.at, side.recorded_at) == (assistant, clock.now(), clock.now())


def test_a_rejected_side_spoils_the_blank_and_says_why(bench):
    side = cut(bench, outcome="rejected", reject_reason=bench.reason, cut_s=300)
    assert side.movement.kind == MovementKind.SPOILED
    assert side.movement.note == "Noisy blank"
    assert Life.objects.get().cut_s == 300


def test_a_test_cut_tests_the_blank(bench):
    assert cut(bench, outcome="test", cut_s=120).movement.kind == MovementKind.TESTED


def test_a_good_side_keeps_no_reject_reason(bench):
    assert cut(bench, reject_reason=bench.reason).reject_reason is None


def test_the_last_good_side_finishes_the_booking(bench):
    booking = make_booking(bench.engineer)
    a, b = booking.wanted.all()
    cut(bench, wanted=a)
    booking.refresh_from_db()
    assert booking.is_open
    cut(bench, wanted=b, outcome="rejected", reject_reason=bench.reason, cut_s=200)
    booking.refresh_from_db()
    assert booking.is_open
    cut(bench, wanted=b)
    booking.refresh_from_db()
    assert booking.finished_at == clock.now()


def test_without_a_pitch_the_usual_one_is_taken(bench):
    # 20 min fill 88.7 mm of radius at 133.05 um, which is 190.9 lines an inch
    assert cut(bench, pitch_um=None).pitch_um == pytest.approx(25_400 / 191)
    # a short side isn't spread over the disc: 150 um at most, 169.3 lines
    assert cut(bench, pitch_um=None, cut_s=240).pitch_um == pytest.approx(25_400 / 170)


def refusal(bench, by=None, **other):
    before = state(bench)
    with pytest.raises(Refused) as no:
        cut(bench, by, **other)
    assert state(bench) == before, "a refused side must leave nothing behind"
    return no.value


def test_longer_than_the_side_can_hold_is_refused_by_how_much(bench, assistant):
    no = refusal(bench, assistant, cut_s=1800, pitch_um=120.0)
    assert no.field == "cut_s"
    # 1000 turns at 120 um want 120 mm of the 88.7 there are
    assert "31.3\u00a0mm" in no.sentence
    assert "7:49 too long" in no.sentence
    assert "an engineer may overrule" in no.sentence
    assert refusal(bench, assistant, cut_s=1800, pitch_um=120.0, overrule="I know").field == "cut_s"
    assert [doubt.field for doubt in doubts(bench, cut_s=1800, pitch_um=120.0)] == ["cut_s"]


def test_an_engineer_overrules_with_a_reason_that_is_kept(bench):
    long = {"cut_s": 1450, "pitch_um": 120.0}
    [doubt] = doubts(bench, **long, overrule="label moved in")
    assert "does not fit" in doubt.sentence
    assert refusal(bench, **long, sure=[doubt.key]).field == "overrule"
    side = cut(bench, **long, overrule="label moved in", sure=[doubt.key])
    assert side.overruled == "label moved in"
    assert cut(bench, overrule="not needed").overruled == ""


@pytest.mark.parametrize("outcome", ["test", "rejected"])
def test_a_reason_overrules_only_what_was_shown(bench, outcome):
    stock.hold_lot(by=bench.engineer, once=once(), lot=bench.lot, why="orange peel")
    short = {"outcome": outcome, "reject_reason": bench.reason, "overrule": "x"}
    far_too_long = short | {"cut_s": 5400, "pitch_um": 149.4}
    fit, held = doubts(bench, **far_too_long)  # both are told together
    assert ("does not fit" in fit.sentence, "on hold: orange peel" in held.sentence) == (True, True)
    [left] = doubts(bench, **far_too_long, sure=[held.key])
    assert left == fit
    # what was confirmed of one length says nothing of another
    [anew] = doubts(bench, **far_too_long | {"cut_s": 5399}, sure=[fit.key, held.key])
    assert anew.key != fit.key
    assert cut(bench, **far_too_long, sure=[fit.key, held.key]).overruled == "x"


@pytest.mark.parametrize(
    ("field", "other"),
    [
        ("cut_s", {"cut_s": 0}),
        ("cut_s", {"cut_s": -60}),
        ("cut_s", {"cut_s": 10**12}),
        ("width_um", {"width_um": 5.0}),
        ("width_um", {"width_um": float("inf")}),
        ("width_um", {"width_um": float("nan")}),
        ("pitch_um", {"pitch_um": 1e9}),
        ("pitch_um", {"pitch_um": 0.0}),
        ("pitch_um", {"pitch_um": float("nan")}),
        ("pitch_um", {"pitch_um": 50.0}),
        ("disc_in", {"disc_in": 16}),
        ("speed", {"speed": "100"}),
        ("outcome", {"outcome": "splendid"}),
        ("reject_reason", {"outcome": "rejected"}),
        ("cut_text", {"cut_text": "x" * 81}),
        ("note", {"note": "x" * 501}),
    ],
)
def test_figures_that_make_no_sense_are_refused_at_their_field(bench, field, other):
    assert refusal(bench, **other).field == field


def test_grooves_that_would_overlap_are_refused(bench):
    assert "overlap" in refusal(bench, width_um=130.0).sentence


def test_a_time_in_the_future_is_refused(bench):
    assert refusal(bench, at=clock.now() + timedelta(minutes=1)).field == "at"


def test_a_time_before_the_lot_came_in_is_refused(bench):
    assert refusal(bench, at=moment("2025-03-02 10:00")).field == "at"


def test_no_stylus_in_the_head_is_refused(bench):
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    with at("2025-03-03 10:30"):
        no = refusal(bench)
    assert no.field == "stylus"
    assert "No stylus was in the head of Lathe at 10:30" in no.sentence


def test_a_retired_stylus_is_refused_by_name(bench):
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="chipped")
    with at("2025-03-03 10:30"):
        no = refusal(bench, stylus=bench.stylus)
    assert (no.field, "R-1 was retired at 10:00" in no.sentence) == ("stylus", True)


def test_a_side_is_not_charged_to_another_stylus_than_the_one_seen(bench):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=other, lathe=bench.lathe)
    with at("2025-03-03 10:30"):
        no = refusal(bench, stylus=bench.stylus)
        assert "R-2 was" in no.sentence
        assert cut(bench, stylus=other).life.stylus == other


def test_a_side_logged_late_goes_to_the_stylus_that_was_in_the_head_then(bench):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    with at("2025-03-03 10:05"):
        actions.fit_stylus(by=bench.engineer, once=once(), stylus=other, lathe=bench.lathe)
    with at("2025-03-03 11:00"):
        assert cut(bench, at=moment("2025-03-03 09:30")).life.stylus == bench.stylus
        assert cut(bench, at=moment("2025-03-03 10:45")).life.stylus == other


def test_two_lathes_do_not_mix_up_their_styli(bench):
    second = actions.add_lathe(by=bench.engineer, once=once(), name="Second lathe")
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=other, lathe=second)
    assert cut(bench, lathe=second).life.stylus == other
    assert cut(bench).life.stylus == bench.stylus


def test_a_held_lot_is_refused_until_an_engineer_overrules(bench, assistant):
    stock.hold_lot(by=bench.engineer, once=once(), lot=bench.lot, why="orange peel")
    no = refusal(bench, assistant)
    assert (no.field, "on hold: orange peel" in no.sentence) == ("lot", True)
    [doubt] = doubts(bench)
    assert refusal(bench, sure=[doubt.key]).field == "overrule"
    side = cut(bench, overrule="looked at it under the lamp", sure=[doubt.key])
    assert side.overruled == "looked at it under the lamp"


def test_a_lot_is_used_through_its_last_day_and_refused_after_it(engineer, bench):
    lot = make_lot(engineer, bench.item, 3, code="L2", best_before=moment("2025-03-03 00:00").date())
    with at("2025-03-03 23:59"):
        cut(bench, lot=lot)
    with at("2025-03-04 00:00"):
        assert "usable through 3 March 2025" in refusal(bench, lot=lot).sentence


def test_something_other_than_blanks_is_refused(bench):
    hose = make_item(bench.engineer, "Hose clip", kind="part")
    lot = make_lot(bench.engineer, hose, 5)
    assert refusal(bench, lot=lot).field == "lot"


def test_no_blank_left_is_refused(bench):
    stock.spoil_stock(
        by=bench.engineer,
        once=once(),
        lot=bench.lot,
        quantity=10,
        defect=stock.add_defect(by=bench.engineer, once=once(), name="Bubbles"),
    )
    before = state(bench)
    with pytest.raises(NotEnough) as no:
        cut(bench)
    assert no.value.field == "lot"
    assert "none left" in no.value.sentence
    assert state(bench) == before


def test_a_finished_or_cancelled_booking_takes_no_more_sides(bench):
    booking = make_booking(bench.engineer)
    wanted = booking.wanted.first()
    actions.finish_booking(by=bench.engineer, once=once(), booking=booking, sure=["uncut:A, B"])
    assert "finished at 10:00" in refusal(bench, wanted=wanted).sentence
    actions.reopen_booking(by=bench.engineer, once=once(), booking=booking)
    actions.cancel_booking(by=bench.engineer, once=once(), booking=booking)
    no = refusal(bench, wanted=wanted)
    assert ("cancelled" in no.sentence, no.field) == (True, "wanted")


def doubts(bench, **other):
    before = state(bench)
    with pytest.raises(Doubtful) as asked:
        cut(bench, **other)
    assert state(bench) == before
    return asked.value.doubts


def test_a_blank_of_the_wrong_size_is_asked_about(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 1200), WantedSide("B", 1200, disc_in=10)])
    small = make_lot(bench.engineer, make_item(bench.engineer, "12-inch blank", blank_in=12), 2)
    [doubt] = doubts(bench, wanted=booking.wanted.first(), lot=small)
    assert doubt.field == "lot"
    assert "booked on a 14 inch blank; this one is 12 inch" in doubt.sentence
    assert cut(bench, wanted=booking.wanted.first(), lot=small, sure=[doubt.key]).lot == small


def test_a_record_larger_than_the_blank_is_refused(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 1200)])
    small = make_lot(bench.engineer, make_item(bench.engineer, "10-inch blank", blank_in=10), 2)
    for wanted in (None, booking.wanted.get()):
        no = refusal(bench, wanted=wanted, lot=small, overrule="it will do")
        assert (no.field, "12 inch record does not fit a 10 inch blank" in no.sentence) == ("lot", True)
    assert cut(bench, lot=small, disc_in=10, cut_s=600).lot == small


def test_what_differs_from_the_booking_is_asked_about(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 1200)])
    asked = doubts(bench, wanted=booking.wanted.get(), disc_in=10, speed="45", cut_s=600, pitch_um=100.0)
    assert {doubt.field for doubt in asked} == {"disc_in", "speed", "cut_s"}
    # a rejected side may stop anywhere
    side = cut(bench, wanted=booking.wanted.get(), cut_s=60, outcome="rejected", reject_reason=bench.reason)
    assert side.wanted == booking.wanted.get()


def test_a_second_good_cut_of_a_side_is_asked_about(bench):
    booking = make_booking(bench.engineer)
    wanted = booking.wanted.first()
    cut(bench, wanted=wanted)
    [doubt] = doubts(bench, wanted=wanted)
    assert "has a good cut already, of 10:00 on 3 March" in doubt.sentence
    cut(bench, wanted=wanted, sure=[doubt.key])


def test_a_lot_that_should_wait_its_turn_is_asked_about(bench):
    fresh = make_lot(bench.engineer, bench.item, 5, code="L9", best_before=moment("2026-01-01 00:00").date())
    [doubt] = doubts(bench)
    assert doubt.field == "lot"
    assert fresh.code in doubt.sentence


def test_the_last_blank_of_the_lot_whose_turn_it_is_is_not_asked_about(bench):
    first = make_lot(bench.engineer, bench.item, 1, code="L0", best_before=moment("2025-06-01 00:00").date())
    assert cut(bench, lot=first).movement.balance == 0


def test_an_empty_lot_is_refused_not_asked_about(bench):
    later = make_lot(bench.engineer, bench.item, 1, code="L9")
    stock.use_stock(by=bench.engineer, once=once(), lot=later, quantity=1, sure=[f"out-of-turn:{bench.lot.pk}"])
    assert "none left in lot L9" in refusal(bench, lot=later).sentence


# Presses --------------------------------------------------------------------------------------------------------------


def test_the_same_press_twice_is_one_side(bench):
    token = uuid4()
    first = actions.log_side(by=bench.engineer, once=token, **side_facts(bench))
    again = actions.log_side(by=bench.engineer, once=token, **side_facts(bench))
    assert first == again
    assert state(bench)[0] == 9
    assert Side.objects.count() == 1
    with pytest.raises(TokenTrouble):
        actions.log_side(by=bench.engineer, once=token, **side_facts(bench, cut_s=1300))


def test_a_token_of_another_or_none_is_refused(bench, assistant):
    token = uuid4()
    actions.log_side(by=bench.engineer, once=token, **side_facts(bench))
    for by, used in ((assistant, token), (bench.engineer, None)):
        with pytest.raises(TokenTrouble):
            actions.log_side(by=by, once=used, **side_facts(bench))
    assert Side.objects.count() == 1


def test_a_visitor_logs_nothing(bench, visitor):
    with pytest.raises(NotAllowed):
        cut(bench, visitor)


def test_the_database_refuses_to_change_or_remove_a_side(bench):
    side = cut(bench)
    for spoil in (lambda: Side.objects.filter(pk=side.pk).update(cut_s=1), lambda: Side.objects.all().delete()):
        with pytest.raises(IntegrityError), transaction.atomic():
            spoil()
    assert Side.objects.get().cut_s == 1200


@pytest.mark.django_db(transaction=True)
def test_two_people_cannot_both_take_the_last_blank(engineer, assistant):
    bench = make_bench(engineer, blanks=1)
    done = together(lambda: cut(bench, engineer), lambda: cut(bench, assistant))
    sides = [result for result in done if isinstance(result, Side)]
    refused = [result for result in done if isinstance(result, NotEnough)]
    assert (len(sides), len(refused)) == (1, 1), done
    assert "none left" in refused[0].sentence
    assert state(bench)[0] == 0
    assert Life.objects.get().sides == 1
    assert Movement.objects.filter(kind="used").count() == 1


@pytest.mark.django_db(transaction=True)
def test_the_last_two_sides_cut_at_once_finish_the_booking(engineer, assistant):
    with at("2025-03-03 08:00"):
        bench = make_bench(engineer)
    booking = make_booking(engineer)
    a, b = booking.wanted.all()
    ended = [{"wanted": a, "at": moment("2025-03-03 09:00")}, {"wanted": b, "at": moment("2025-03-03 09:30")}]
    done = together(lambda: cut(bench, engineer, **ended[0]), lambda: cut(bench, assistant, **ended[1]))
    assert all(isinstance(result, Side) for result in done), done
    assert Booking.objects.get().finished_at is not None
    assert Life.objects.get().cut_s == 2400


@pytest.mark.django_db(transaction=True)
def test_one_token_pressed_by_two_threads_is_one_side(engineer):
    bench = make_bench(engineer)
    token = uuid4()

    def press():
        return actions.log_side(by=engineer, once=token, **side_facts(bench))

    done = together(press, press)
    assert done[0] == done[1]
    assert Side.objects.count() == 1
    assert state(bench)[0] == 9
