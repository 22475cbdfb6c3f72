"""Styli and their lives: adding, fitting, taking off, retiring, and what is left of one."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.models import Fitting, Life
from shop.refusal import NotAllowed, NotEnough, Refused
from shop.stock.models import Lot
from tests.cutting.makers import cut, make_bench, make_booking, make_stylus, once
from tests.makers import at, moment, together
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(engineer):
    with at("2025-03-03 08:00"):
        made = make_bench(engineer, blanks=100)
    with at("2025-03-03 10:00"):
        yield made


def fit(by, stylus, lathe, **other):
    return actions.fit_stylus(by=by, once=once(), stylus=stylus, lathe=lathe, **other)


def take_off(by, stylus, **other):
    return actions.take_off_stylus(by=by, once=once(), stylus=stylus, **other)


def retire(by, stylus, reason="worn", **other):
    return actions.retire_stylus(by=by, once=once(), stylus=stylus, reason=reason, **other)


# Adding ---------------------------------------------------------------------------------------------------------------


def test_a_stylus_out_of_a_lot_is_used_from_it(bench, assistant):
    lot = make_lot(bench.engineer, make_item(bench.engineer, "Ruby stylus", kind="stylus"), 2)
    for mark in ("R-7", "R-8"):
        stylus = make_stylus(assistant, bench.kind, mark, lot=lot)
    assert (stylus.lot, stylus.received_on) == (lot, lot.received_on)
    assert Lot.objects.get(pk=lot.pk).on_hand == 0
    with pytest.raises(NotEnough):
        make_stylus(assistant, bench.kind, "R-9", lot=lot)


def test_a_lot_of_something_else_is_refused(bench):
    with pytest.raises(Refused) as no:
        make_stylus(bench.engineer, bench.kind, "R-7", lot=bench.lot)
    assert no.value.field == "lot"


def test_a_mark_is_used_once_however_it_is_written(bench):
    with pytest.raises(Refused) as no:
        make_stylus(bench.engineer, bench.kind, " r-1 ")
    assert no.value.field == "mark"


@pytest.mark.django_db(transaction=True)
def test_a_mark_added_twice_at_once_is_one_stylus(engineer):
    bench = make_bench(engineer)
    done = together(*[lambda: make_stylus(engineer, bench.kind, "R-2")] * 2)
    assert sum(isinstance(result, Refused) for result in done) == 1, done


def test_a_day_in_the_future_is_refused(bench):
    with pytest.raises(Refused) as no:
        make_stylus(bench.engineer, bench.kind, "R-7", received_on=clock.today() + timedelta(days=1))
    assert no.value.field == "received_on"


# Fitting --------------------------------------------------------------------------------------------------------------


def test_the_first_fitting_begins_a_life_and_the_next_goes_on_with_it(bench):
    life = Life.objects.get()
    assert life.began_at == moment("2025-03-03 08:00")
    take_off(bench.engineer, bench.stylus)
    assert fit(bench.engineer, bench.stylus, bench.lathe).life == life
    assert Fitting.objects.filter(life=life).count() == 2


def test_a_head_with_another_stylus_is_refused_by_name(bench, assistant):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    with pytest.raises(Refused, match="R-1 is in the head of Lathe") as no:
        fit(assistant, other, bench.lathe)
    assert no.value.field == "lathe"


def test_one_stylus_is_not_in_two_heads(bench):
    second = actions.add_lathe(by=bench.engineer, once=once(), name="Second")
    with pytest.raises(Refused, match="already"):
        fit(bench.engineer, bench.stylus, second)
    with pytest.raises(IntegrityError), transaction.atomic():
        Fitting.objects.create(life=Life.objects.get(), lathe=second, fitted_at=clock.now(), fitted_by=bench.engineer)


@pytest.mark.django_db(transaction=True)
def test_two_styli_fitted_at_once_end_with_one_in_the_head(engineer):
    bench = make_bench(engineer)
    take_off(engineer, bench.stylus)
    others = [make_stylus(engineer, bench.kind, mark) for mark in ("R-2", "R-3")]
    done = together(*[lambda stylus=stylus: fit(engineer, stylus, bench.lathe) for stylus in others])
    assert sum(isinstance(result, Fitting) for result in done) == 1, done
    assert sum(isinstance(result, Refused) for result in done) == 1, done


def test_a_retired_stylus_is_refused(bench):
    retire(bench.engineer, bench.stylus)
    with pytest.raises(Refused, match="retired at 10:00"):
        fit(bench.engineer, bench.stylus, bench.lathe)


def test_a_lathe_out_of_use_is_refused(bench):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    spare = actions.add_lathe(by=bench.engineer, once=once(), name="Spare")
    actions.change_lathe(by=bench.engineer, once=once(), lathe=spare, version=1, name="Spare", is_active=False)
    with pytest.raises(Refused, match="out of use"):
        fit(bench.engineer, other, spare)


def test_a_fitting_may_not_lie_in_the_future_or_over_another(bench):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    take_off(bench.engineer, bench.stylus, at=moment("2025-03-03 09:30"))
    for when, words in (("2025-03-03 10:01", "future"), ("2025-03-03 09:29", "until 09:30")):
        with pytest.raises(Refused, match=words) as no:
            fit(bench.engineer, other, bench.lathe, at=moment(when))
        assert no.value.field == "at"
    fit(bench.engineer, other, bench.lathe, at=moment("2025-03-03 09:30"))


def test_a_stylus_is_not_fitted_before_it_came_in(bench):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    second = actions.add_lathe(by=bench.engineer, once=once(), name="Second")
    with pytest.raises(Refused, match="R-2 only came in on 3 March 2025") as no:
        fit(bench.engineer, other, second, at=moment("2025-03-02 23:59"))
    assert no.value.field == "at"
    assert fit(bench.engineer, other, second, at=moment("2025-03-03 00:00")).life.began_at == moment("2025-03-03 00:00")


def test_off_before_its_last_side_or_its_fitting_is_refused(bench):
    cut(bench, at=moment("2025-03-03 09:00"))
    for when in ("2025-03-03 08:59", "2025-03-03 07:00", "2025-03-03 10:01"):
        for act in (take_off, retire):
            with pytest.raises(Refused) as no:
                act(bench.engineer, bench.stylus, at=moment(when))
            assert no.value.field == "at"
    assert Fitting.objects.get().off_at is None


def test_nothing_to_take_off(bench):
    take_off(bench.engineer, bench.stylus)
    with pytest.raises(Refused, match="not in a head"):
        take_off(bench.engineer, bench.stylus)


# Retiring -------------------------------------------------------------------------------------------------------------


def test_retiring_ends_the_life_and_empties_the_head(bench, assistant):
    stylus = retire(assistant, bench.stylus, "chipped", note="on the lead-in")
    life, fitting = Life.objects.get(), Fitting.objects.get()
    assert (life.ended_at, life.end_reason, life.end_note) == (clock.now(), "chipped", "on the lead-in")
    assert (fitting.off_at, fitting.off_by) == (clock.now(), assistant)
    assert (stylus.retired_by, stylus.retired_why) == (assistant, "chipped")
    assert queries.fitted_lives() == []
    with pytest.raises(Refused, match="was retired"):
        retire(assistant, bench.stylus)


def test_a_reason_outside_the_list_is_refused(bench):
    with pytest.raises(Refused) as no:
        retire(bench.engineer, bench.stylus, "bored")
    assert no.value.field == "reason"


def test_one_that_was_never_fitted_can_be_lost(bench):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    retire(bench.engineer, other, "lost")
    assert not other.lives.exists()


def test_an_engineer_puts_a_mistaken_retirement_right(bench, assistant):
    cut(bench)
    retire(bench.engineer, bench.stylus)
    with pytest.raises(NotAllowed):
        actions.reinstate_stylus(by=assistant, once=once(), stylus=bench.stylus)
    actions.reinstate_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    life = Life.objects.get()
    assert (life.ended_at, life.end_reason, life.cut_s) == (None, "", 1200)
    assert fit(bench.engineer, bench.stylus, bench.lathe).life == life
    with pytest.raises(Refused, match="not retired"):
        actions.reinstate_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)


def test_the_database_keeps_one_open_life_and_its_reason(bench):
    with pytest.raises(IntegrityError), transaction.atomic():
        Life.objects.create(stylus=bench.stylus, number=2, began_at=clock.now())
    with pytest.raises(IntegrityError), transaction.atomic():
        Life.objects.update(ended_at=clock.now())


def test_a_visitor_changes_nothing(bench, visitor):
    for press in (
        lambda: make_stylus(visitor, bench.kind, "R-2"),
        lambda: take_off(visitor, bench.stylus),
        lambda: retire(visitor, bench.stylus),
        lambda: fit(visitor, bench.stylus, bench.lathe),
    ):
        with pytest.raises(NotAllowed):
            press()


# What is left ---------------------------------------------------------------------------------------------------------


def run_down(bench, hours, reason, mark):
    """A stylus of the bench's kind that cut so many hours and was then retired."""
    stylus = make_stylus(bench.engineer, bench.kind, mark)
    life = Life.objects.create(stylus=stylus, began_at=clock.now(), cut_s=round(hours * 3600), sides=1)
    retire(bench.engineer, stylus, reason)
    return life


def test_only_wear_counts_as_an_end(bench):
    for place, (hours, reason) in enumerate([(9.0, "worn"), (11.0, "worn"), (3.0, "chipped"), (5.0, "early")]):
        run_down(bench, hours, reason, f"W-{place}")
    record = queries.records(frozenset([bench.kind.pk]))[bench.kind.pk]
    assert sorted(zip(record.hours, record.worn, strict=True)) == [
        (3.0, False),
        (5.0, False),
        (9.0, True),
        (11.0, True),
    ]
    outlook = queries.life_outlook(Life.objects.get(stylus=bench.stylus))
    assert (outlook.ended, outlook.running) == (2, 2)
    assert "Rests on 2 lives that wore out; 2 still run or ended otherwise." in outlook.basis


def test_without_an_ended_life_the_shops_own_expectation_speaks_and_says_so(bench):
    outlook = queries.life_outlook(Life.objects.get())
    assert (outlook.ended, outlook.hours) == (0, 0.0)
    assert "No life has worn out yet" in outlook.basis
    # as many typical lives last longer than the 12 h expected as shorter
    assert outlook.hours_left(0.5) == pytest.approx(12, rel=0.05)
    assert outlook.hours_left(0.95) < outlook.hours_left(0.8) < outlook.hours_left(0.5)


def test_chances_fall_with_hours_and_with_what_is_asked(bench):
    for place in range(6):
        run_down(bench, 10.0, "worn", f"W-{place}")
    fresh = queries.life_outlook(Life.objects.get(stylus=bench.stylus))
    Life.objects.filter(stylus=bench.stylus).update(cut_s=9 * 3600)
    old = queries.life_outlook(Life.objects.get(stylus=bench.stylus))
    assert 0 < old.chance(3600) < fresh.chance(3600) < 1
    assert old.chance(7200) < old.chance(3600) < old.chance(0) == pytest.approx(1)


def test_chances_of_a_stylus_page(bench):
    make_booking(bench.engineer)
    make_booking(bench.engineer, cut_on=clock.today() + timedelta(days=5))
    outlook = queries.life_outlook(Life.objects.get())
    found = queries.chances(outlook, queries.uncut_sides(), clock.today())
    assert [(chance.what, chance.sides, chance.cut_s) for chance in found] == [
        ("the next side", 1, 1200),
        ("today's sides", 2, 2400),
        ("all booked sides", 4, 4800),
    ]
    assert found[0].chance > found[1].chance > found[2].chance


def test_outlooks_ask_once_for_all_lives_of_a_kind(bench, django_assert_num_queries):
    for mark in ("R-2", "R-3", "R-4"):
        fit(
            bench.engineer,
            make_stylus(bench.engineer, bench.kind, mark),
            actions.add_lathe(by=bench.engineer, once=once(), name=mark),
        )
    lives = [fitting.life for fitting in queries.fitted_lives()]
    with django_assert_num_queries(1):
        assert len(queries.outlooks(lives)) == 4
