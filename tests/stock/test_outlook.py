"""What an outlook rests on, as it is read from the room's records; and the figures that are kept of it."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from shop import clock
from shop.calc.demand import LeadTime
from shop.stock import actions
from shop.stock.claims import Claim
from shop.stock.figures import current_figures, keep_figures, runs_out_on, states
from shop.stock.models import Intake, Item, PastUse, ReorderFigure
from shop.stock.queries.outlook import bases, look_weeks, moved_by, outlook_of, present
from tests.stock.makers import day, make_item, make_liquid, make_lot, make_sent, make_supplier, once, receive_line, use

pytestmark = pytest.mark.django_db


def basis_of(item, today=None):
    [basis] = bases(present(today or clock.today(), item.pk), [item.pk])
    return basis


def plan(by, item, **figures):
    item.refresh_from_db()
    return actions.plan_item(by=by, once=once(), item=item, version=item.version, **figures)


# Past use -------------------------------------------------------------------------------------------------------------


def test_weeks_run_from_the_first_whole_one_to_the_last_sunday(engineer, claimed, at):
    """2025-03-03 is a Monday. The week the ledger begins in is not known whole, nor is the present one."""
    item = make_item(engineer)
    with at("2025-03-05 09:00"):
        lot = make_lot(engineer, item, 100)
        use(engineer, lot, 7)
    for moment, quantity in (("2025-03-10 09:00", 2), ("2025-03-16 23:30", 3), ("2025-03-25 09:00", 4)):
        with at(moment):
            use(engineer, lot, quantity)
    with at("2025-04-02 10:00"):
        use(engineer, lot, 9)
        found = basis_of(item)
    assert (found.first_week, found.counts, found.this_week) == (day("2025-03-10"), (5, 0, 4), 9)
    assert found.usable == 100 - 25


def test_a_ledger_that_begins_on_a_monday_is_known_from_that_week_on(engineer, claimed, at):
    item = make_item(engineer)
    with at("2025-03-03 09:00"):
        use(engineer, make_lot(engineer, item, 10), 2)
    assert basis_of(item, day("2025-03-09")).counts == ()
    assert basis_of(item, day("2025-03-10")).counts == (2,)
    assert basis_of(item, day("2025-03-18")).counts == (2, 0)


def test_what_files_told_comes_before_the_ledger(engineer, claimed, at):
    item = make_item(engineer)
    with at("2025-03-05 09:00"):
        use(engineer, make_lot(engineer, item, 10), 2)
        intake = Intake.objects.create(kind="past-use", name="f", size=1, digest="", sent_at=clock.now(), by=engineer)
    for told, whole, quantity in (("2025-02-10", True, 4), ("2025-02-26", False, 1), ("2025-03-03", False, 5)):
        on = day(told)
        PastUse.objects.create(
            item=item,
            day=on,
            whole_week=whole,
            monday=on - timedelta(days=on.weekday()),
            quantity=quantity,
            intake=intake,
        )
    found = basis_of(item, day("2025-03-12"))
    assert (found.first_week, found.counts) == (day("2025-02-10"), (4, 0, 1, 7))
    assert found.past_until == day("2025-03-03")


def test_no_more_than_ten_years_are_looked_at(engineer, claimed, at):
    item = make_item(engineer)
    with at("2010-03-01 09:00"):
        use(engineer, make_lot(engineer, item, 10), 2)
    assert len(basis_of(item, day("2025-03-12")).counts) == 520


# What there is, comes, and is booked ----------------------------------------------------------------------------------


def test_held_and_past_lots_are_left_out(engineer, claimed):
    item, today = make_item(engineer), clock.today()
    good = make_lot(engineer, item, 5, best_before=today)
    held = make_lot(engineer, item, 3)
    actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="dull")
    make_lot(engineer, item, 2, best_before=today + timedelta(days=1))
    late = basis_of(item, today + timedelta(days=1))
    assert [lot.on_hand for lot in late.lots] == [2]
    assert (late.held, late.past_date) == (3, 5)
    [first, second] = plan_question(engineer, item).lots
    assert (first.quantity, first.days_left, second.days_left) == (5, 0, 1)
    assert good.pk == basis_of(item).lots[0].pk


def plan_question(by, item):
    plan(by, item, expected_weekly=3.0)
    return basis_of(item).question()


def test_the_shop_s_own_figures_are_asked_with(engineer, claimed):
    item = make_item(engineer, shelf_days=400)
    plan(
        engineer,
        item,
        pack_size=25,
        minimum_order=50,
        service_level=0.9,
        cover_weeks=12,
        expected_weekly=2.5,
        shelf_room=300,
    )
    asked = basis_of(item).question()
    assert (asked.pack, asked.minimum, asked.service, asked.cover_days) == (25, 50, 0.9, 84)
    assert (asked.expected_per_week, asked.room, asked.shelf_days, asked.weeks) == (2.5, 300, 400, 26)


def test_nothing_to_go_by_is_no_outlook_and_an_expectation_is(engineer, claimed):
    item = make_item(engineer)
    assert not basis_of(item).can_tell
    assert outlook_of([basis_of(item)]) == [None]
    plan(engineer, item, expected_weekly=2.0)
    [found] = outlook_of([basis_of(item)])
    assert found.picked.reason == "no_history"
    assert found.order_by_days == 0


def test_bookings_are_shared_by_past_use(engineer, claimed, at):
    """Two kinds of 14-inch blank, used three to one: so are their bookings, in whole blanks, at every day."""
    mostly, seldom, other = (make_item(engineer, name) for name in ("Foil A", "Foil B", "Foil C"))
    liquid = make_liquid(engineer)
    with at("2025-03-03 09:00"):
        for item, quantity in ((mostly, 30), (seldom, 10)):
            use(engineer, make_lot(engineer, item, 100), quantity)
        make_lot(engineer, other, 100)
        make_lot(engineer, liquid, 100)
    claimed += [Claim(14, 1, day("2025-03-20"), f"B{n}", f"/{n}") for n in range(5)]
    claimed += [Claim(14, 3, day("2025-03-21"), "B9", "/9"), Claim(10, 5, day("2025-03-21"), "C", "/c")]
    found = {basis.item.name: basis for basis in bases(present(day("2025-03-12")))}
    assert [found[name].booked for name in ("Foil A", "Foil B", "Foil C", "Wiping solvent")] == [6, 2, 0, 0]
    assert (found["Foil A"].share, found["Foil A"].fellows) == (0.75, 2)
    assert found["Foil B"].due[0].quantity == 1
    [alone] = bases(present(day("2025-03-12"), mostly.pk), [mostly.pk])
    assert alone.due == found["Foil A"].due


def test_without_use_bookings_are_shared_by_what_is_there_else_evenly(engineer, claimed):
    one, two = make_item(engineer, "Foil A"), make_item(engineer, "Foil B")
    claimed.append(Claim(14, 4, clock.today(), "B", "/"))
    assert (basis_of(one).booked, basis_of(two).booked) == (2, 2)
    make_lot(engineer, one, 10)
    assert (basis_of(one).booked, basis_of(two).booked) == (4, 0)


def test_what_is_on_order_comes_with_its_supplier_s_lead_time(engineer, claimed, at):
    supplier = make_supplier(engineer, lead_days=20)
    item = make_item(engineer, supplier=supplier)
    with at("2025-03-03 09:00"):
        order = make_sent(engineer, (item, 50), supplier=supplier)
    with at("2025-03-10 09:00"):
        receive_line(engineer, order.lines.get(), 20)
        make_sent(engineer, (item, 5), supplier=supplier, expected_on=day("2025-04-09"))
        plan(engineer, item, expected_weekly=1.0)
        found = basis_of(item)
        [first, moved] = found.arrivals
        asked = found.question()
    assert [(one.quantity, one.moved_days) for one in found.arrivals] == [(30, 0), (5, 10)]
    assert [coming.sent_days_ago for coming in asked.coming] == [7, 0]
    assert moved.lead.mean_days == pytest.approx(first.lead.mean_days + 10)
    assert first.lead == found.lead
    assert found.on_order == 35
    assert day("2025-03-15") < first.likely_on(day("2025-03-10")) < day("2025-04-01")


def test_a_draft_does_not_count_but_is_known(engineer, claimed):
    supplier = make_supplier(engineer, lead_days=20)
    item = make_item(engineer, supplier=supplier)
    actions.draft_order(by=engineer, once=once(), supplier=supplier, lines=[actions.WantedLine(item, 7)])
    found = basis_of(item)
    assert (found.on_order, [line.quantity for line in found.drafts]) == (0, [7])


@pytest.mark.parametrize(("days", "chances"), [(2, (0, 0, 0.5, 0.5)), (-1, (1.0,)), (-5, (1.0,)), (0, (0.5, 0.5))])
def test_a_moved_date_moves_the_whole_lead_time(days, chances):
    assert moved_by(LeadTime((0.5, 0.5)), days).chances == pytest.approx(chances)


def test_it_looks_past_a_late_arrival_and_what_the_order_is_to_last():
    assert look_weeks(LeadTime.known(7), 8) == 26
    assert look_weeks(LeadTime.known(200), 20) == 49
    assert look_weeks(LeadTime.known(730), 52) == 104


def test_as_many_queries_whatever_the_items(engineer, claimed, django_assert_num_queries):
    supplier = make_supplier(engineer, lead_days=20)

    def grow(to):
        for n in range(to):
            item = make_item(engineer, f"Foil {to} {n}", supplier=supplier, blank_in=14)
            use(engineer, make_lot(engineer, item, 9))
            make_sent(engineer, (item, 5), supplier=supplier)

    for more in (2, 15):
        grow(more)
        with django_assert_num_queries(5):
            bases(present(clock.today()))


# The figures ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def steady(engineer, claimed, at):
    """A part of which two were used each week for 30 weeks, as of Wednesday 2025-10-01; 8 are left."""
    item = make_item(engineer, "Filter", kind="part", supplier=make_supplier(engineer, lead_days=14))
    with at("2025-03-03 09:00"):
        lot = make_lot(engineer, item, 68)
    for week in range(30):
        with clock.moved(timezone.make_aware(timezone.datetime(2025, 3, 4, 9)) + timedelta(weeks=week)):
            use(engineer, lot, 2)
    return item


def test_figures_are_worked_out_once_and_again_when_something_changed(steady, engineer, at):
    with at("2025-10-01 08:00"):
        assert keep_figures() == "1 of 1"
        assert keep_figures() == "0 of 1"
        [kept] = ReorderFigure.objects.all()
        assert (kept.usable, kept.on_order, kept.weeks) == (8, 0, 30)
        assert kept.per_week == pytest.approx(2, abs=0.3)
        assert kept.order_by is not None
        assert kept.order_by <= day("2025-10-15")
        assert 0 < kept.chance_out < 1
        make_sent(engineer, (steady, 20), supplier=steady.supplier)
        assert keep_figures() == "1 of 1"
        kept.refresh_from_db()
        assert (kept.on_order, kept.position) == (20, 28)
    with at("2025-10-02 00:10"):
        assert keep_figures() == "1 of 1"


def test_a_page_works_out_what_is_not_current_and_keeps_nothing(steady, engineer, at):
    with at("2025-10-01 08:00"):
        keep_figures()
    with at("2025-10-01 09:00"):
        here = present(clock.today())
        [same] = current_figures(here, clock.now())
        assert same.worked_at < clock.now()
        plan(engineer, steady, service_level=0.999)
        [fresh] = current_figures(present(clock.today()), clock.now())
    assert fresh.worked_at > same.worked_at
    assert fresh.reorder_point > same.reorder_point
    assert ReorderFigure.objects.get().reorder_point == same.reorder_point


def test_figures_of_what_is_no_longer_kept_are_forgotten(engineer, claimed, at):
    item = make_item(engineer, "Filter", kind="part")
    keep_figures()
    assert ReorderFigure.objects.get().per_week is None
    Item.objects.filter(pk=item.pk).update(is_active=False)
    assert keep_figures() == "0 of 0"
    assert not ReorderFigure.objects.exists()


@pytest.mark.parametrize("change", ["use", "hold", "booking", "fellow", "draft", "other_order", "past_use"])
def test_what_changes_an_outlook_changes_its_state(engineer, claimed, change):
    supplier = make_supplier(engineer, lead_days=20)
    item, fellow = make_item(engineer, "Foil A", supplier=supplier), make_item(engineer, "Foil B")
    lot, filter_ = make_lot(engineer, item, 10), make_item(engineer, "Filter", kind="part", supplier=supplier)
    before = states(present(clock.today()))
    if change == "use":
        use(engineer, lot)
    elif change == "hold":
        actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="dull")
    elif change == "booking":
        claimed.append(Claim(14, 1, clock.today(), "B", "/"))
    elif change == "fellow":
        make_lot(engineer, fellow, 10)
    elif change == "other_order":  # its supplier's lead time is learned from all its orders
        make_sent(engineer, (filter_, 5), supplier=supplier)
    elif change == "past_use":
        intake = Intake.objects.create(kind="past-use", name="f", size=1, digest="", sent_at=clock.now(), by=engineer)
        on = clock.monday_of(clock.now()) - timedelta(weeks=9)
        PastUse.objects.create(item=item, day=on, whole_week=True, monday=on, quantity=4, intake=intake)
    else:
        actions.draft_order(by=engineer, once=once(), supplier=supplier, lines=[actions.WantedLine(item, 7)])
    after = states(present(clock.today()))
    assert (before[item.pk] != after[item.pk]) == (change != "draft")


def test_the_day_it_runs_out_lies_within_its_week(steady, at):
    with at("2025-10-01 08:00"):
        [basis] = bases(present(clock.today()))
        [found] = outlook_of([basis])
        out = runs_out_on(found, basis.day)
    chances = [0.0, *(week.chance_out_by for week in found.weeks)]
    week = next(n for n, chance in enumerate(chances) if chance >= 0.5)
    assert chances[week - 1] < 0.5
    assert date(2025, 10, 1) + timedelta(weeks=week - 1) <= out < date(2025, 10, 1) + timedelta(weeks=week)
