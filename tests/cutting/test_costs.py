"""What sides cost in consumables: blanks by their lots, the stylus by its hours, the rest by the room's own figures."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.models import CostFigures
from shop.refusal import Changed, NotAllowed, Refused
from shop.stock.models import Lot
from tests.cutting.makers import address, cut, make_booking, make_stylus, once, text
from tests.makers import at
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def priced(bench):
    """A blank at 30 and a stylus at 90 in the head."""
    by = bench.engineer
    lot = make_lot(by, bench.item, 50, code="P", unit_cost=Decimal(30))
    styli = make_lot(by, make_item(by, "Stylus", kind="stylus"), 2, code="S", unit_cost=Decimal(90))
    stylus = make_stylus(by, bench.kind, "R-9", lot=styli)
    actions.take_off_stylus(by=by, once=once(), stylus=bench.stylus)
    actions.fit_stylus(by=by, once=once(), stylus=stylus, lathe=bench.lathe)
    bench.lot = lot
    return bench


def figures(by, gas="2.50", care="4"):
    now = queries.cost_figures()
    return actions.change_cost_figures(
        by=by, once=once(), version=now.version, gas_side=Decimal(gas), care_hour=Decimal(care)
    )


def sure(bench):
    return {"sure": [f"out-of-turn:{pk}" for pk in Lot.objects.values_list("pk", flat=True)]}


def mean_hours(bench):
    kept = queries.records(frozenset([bench.kind.pk]))
    return queries.posterior_of(bench.kind, kept[bench.kind.pk]).mean


def test_a_side_takes_its_blank_and_its_share_of_the_stylus(priced):
    booking = make_booking(priced.engineer)
    cut(priced, wanted=booking.wanted.first(), cut_s=1200, **sure(priced))
    found = queries.costs_of(booking)
    assert found.parts["blanks"] == 30
    assert found.parts["stylus"] == pytest.approx(90 / 3 / mean_hours(priced))
    assert (found.parts["gas"], found.parts["care"]) == (0, 0)
    assert found.cuts[0].missing == ("gas", "care")
    assert found.total == found.each == pytest.approx(sum(found.parts.values()))


def test_gas_and_care_go_by_the_room_s_own_figures(priced):
    figures(priced.engineer)
    booking = make_booking(priced.engineer)
    cut(priced, wanted=booking.wanted.first(), cut_s=1200, **sure(priced))
    found = queries.costs_of(booking)
    assert (found.parts["gas"], found.parts["care"]) == (2.5, pytest.approx(4 / 3))
    assert found.cuts[0].missing == ()


def test_a_good_side_bears_what_was_spent_on_the_way_to_it(priced):
    booking = make_booking(priced.engineer)
    wanted = booking.wanted.first()
    cut(priced, wanted=wanted, cut_s=600, outcome="test", **sure(priced))
    cut(priced, wanted=wanted, cut_s=900, outcome="rejected", reject_reason=priced.reason, **sure(priced))
    cut(priced, wanted=wanted, **sure(priced))
    found = queries.costs_of(booking)
    assert (found.good, found.others, found.parts["blanks"]) == (1, 2, 90)
    assert found.each == found.total


def test_a_withdrawn_side_costs_nothing(priced):
    booking = make_booking(priced.engineer)
    side = cut(priced, wanted=booking.wanted.first(), **sure(priced))
    actions.withdraw_side(by=priced.engineer, once=once(), side=side, reason="entered twice")
    found = queries.costs_of(booking)
    assert (found.cuts, found.total, found.each) == ([], 0, None)


def test_what_has_no_price_is_counted_and_left_out(bench):
    booking = make_booking(bench.engineer)
    cut(bench, wanted=booking.wanted.first())
    found = queries.costs_of(booking)
    assert found.total == 0
    assert (found.lacking("blank"), found.lacking("stylus"), found.lacking("gas")) == (1, 1, 1)


def test_the_sides_of_some_days_by_booking(priced):
    first, second = make_booking(priced.engineer), make_booking(priced.engineer)
    cut(priced, wanted=first.wanted.first(), **sure(priced))
    with at("2025-03-04 10:00"):
        cut(priced, wanted=second.wanted.first(), **sure(priced))
        cut(priced, **sure(priced))
        day = clock.day_bounds(clock.today())
        found = queries.costs_between(*day)
        assert [(booking, len(own.cuts)) for booking, own in found.bookings] == [(None, 1), (second, 1)]
        assert found.all.parts["blanks"] == 60
        both = queries.costs_between(day[0] - timedelta(days=1), day[1])
        assert (len(both.all.cuts), len(both.bookings), both.is_cut_off) == (3, 3, False)


def test_too_many_sides_are_cut_off_and_said(priced, monkeypatch):
    monkeypatch.setattr("shop.cutting.queries.costing.MOST_SIDES", 1)
    for _ in range(2):
        cut(priced, **sure(priced))
    found = queries.costs_between(*clock.day_bounds(clock.today()))
    assert (len(found.all.cuts), found.is_cut_off) == (1, True)


def test_as_many_queries_for_much_as_for_little(priced, django_assert_num_queries):
    day = clock.day_bounds(clock.today())
    booking = make_booking(priced.engineer)
    for _ in range(2):
        cut(priced, wanted=booking.wanted.first(), outcome="test", **sure(priced))
        with django_assert_num_queries(3):
            queries.costs_of(booking)
        with django_assert_num_queries(3):
            queries.costs_between(*day)


# The room's own figures -----------------------------------------------------------------------------------------------


def test_figures_are_kept_and_may_be_taken_back(engineer):
    assert (queries.cost_figures().gas_side, queries.cost_figures().care_hour) == (None, None)
    assert figures(engineer).gas_side == Decimal("2.5000")
    actions.change_cost_figures(by=engineer, once=once(), version=2)
    assert queries.cost_figures().gas_side is None
    assert CostFigures.objects.count() == 1


def test_figures_out_of_range_of_others_or_stale_are_refused(engineer, assistant):
    for field in ("gas_side", "care_hour"):
        with pytest.raises(Refused) as refused:
            actions.change_cost_figures(by=engineer, once=once(), version=1, **{field: Decimal(-1)})
        assert refused.value.field == field
    with pytest.raises(NotAllowed):
        figures(assistant)
    figures(engineer)
    with pytest.raises(Changed):
        actions.change_cost_figures(by=engineer, once=once(), version=1, gas_side=Decimal(9))


# Pages ----------------------------------------------------------------------------------------------------------------


def test_the_pages_say_sums_and_what_is_missing(priced, client_of, engineer):
    client = client_of(engineer)
    booking = make_booking(engineer)
    cut(priced, wanted=booking.wanted.first(), **sure(priced))
    cut(priced, outcome="rejected", reject_reason=priced.reason, **sure(priced))
    page = text(client.get(address("costs")))
    assert "60.00 EUR" in page
    assert "1 good side, and 1 cut rejected or for a test" in page
    assert "Without a booking" in page
    assert "<dt>Gas</dt><dd>not known</dd>" in page
    client.post(address("change-cost-figures"), {"once": uuid4(), "version": 1, "gas_side": "2,5", "care_hour": ""})
    page = text(client.get(address("costs")))
    assert "<dt>Gas</dt><dd>5.00 EUR</dd>" in page
    own = text(client.get(address("booking-cost", booking.pk)))
    assert "30.00 EUR" in own
    assert "2.50 EUR of gas for a side" in own


def test_whatever_days_are_asked_for_a_page_answers(priced, client_of, engineer):
    cut(priced, **sure(priced))
    client = client_of(engineer)
    for since, until in (
        ("2025-03-03", "2025-03-03"),
        ("2025-03-09", "2025-03-01"),
        ("0001-01-01", "9999-12-31"),
        ("x", "y"),
        ("2099-01-01", ""),
        ("", "1960-01-01"),
    ):
        assert client.get(address("costs"), {"since": since, "until": until}).status_code == 200


def test_money_is_for_engineers_and_owners(priced, client, client_of, owner, engineer, assistant, visitor):
    booking = make_booking(engineer)
    places = [address("costs"), address("booking-cost", booking.pk), address("change-cost-figures")]
    for where in places:
        for person in (owner, engineer):
            assert client_of(person).get(where).status_code == 200
        for person in (assistant, visitor):
            assert client_of(person).get(where).status_code == 403
        assert client.get(where).status_code == 302
    for where in places[:2]:
        assert client_of(engineer).post(where).status_code == 405
    for person, seen in ((engineer, True), (assistant, False)):
        assert (places[1] in text(client_of(person).get(booking.get_absolute_url()))) is seen
        assert (places[0] in text(client_of(person).get(address("bookings")))) is seen


def test_pages_take_few_queries(priced, client_of, engineer, django_assert_max_num_queries):
    booking = make_booking(engineer)
    cut(priced, wanted=booking.wanted.first(), **sure(priced))
    client = client_of(engineer)
    for where in (address("costs"), address("booking-cost", booking.pk)):
        with django_assert_max_num_queries(12):
            assert client.get(where).status_code == 200
