"""The outlook: each figure against the plain way to work it out, what-ifs that move the right way, caps, and edges."""

import dataclasses
import itertools
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom

from shop.calc.demand import (
    Booked,
    Coming,
    Forecast,
    LeadTime,
    LotLeft,
    Outlook,
    Question,
    lead_time,
    outlook,
    outlooks,
)

RNG = np.random.default_rng(3)
STEADY = RNG.poisson(5, 150).tolist()
LUMPY = (RNG.poisson(1.2, 150) * 4).tolist()


def ask(**given: Any) -> Question:
    return Question(**{"counts": STEADY, "lead": LeadTime.known(42), "review_days": 0, **given})


# When to order ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("counts", [STEADY, LUMPY])
@pytest.mark.parametrize("service", [0.5, 0.9, 0.99])
def test_the_reorder_point_is_the_quantile_of_demand_over_a_known_lead_time(counts: list[int], service: float) -> None:
    found = outlook(ask(counts=counts, service=service))
    total = found.picked.forecast.total(6)
    assert found.reorder_point == total.quantile(service)
    assert found.chance_met == pytest.approx(total.chance_at_most(found.reorder_point), abs=1e-6)
    assert (found.lead_demand.mean, found.lead_demand.sd) == pytest.approx((total.mean, total.sd), rel=1e-3)


def test_with_an_unsure_lead_time_it_is_that_of_the_mixture() -> None:
    lead = LeadTime.about(40, 12)
    found = outlook(ask(lead=lead, service=0.95))
    forecast = found.picked.forecast
    chances = [(p, forecast.total(day / 7)) for day, p in enumerate(lead.chances) if p > 1e-9]
    at = math.fsum(p * total.chance_at_most(found.reorder_point) for p, total in chances)
    assert found.chance_met == pytest.approx(at, abs=3e-3)
    assert found.lead_demand.mean == pytest.approx(math.fsum(p * total.mean for p, total in chances), rel=1e-4)


def test_looking_seldom_is_half_a_look_more_to_bridge() -> None:
    often, seldom = (outlook(ask(review_days=days)) for days in (0, 28))
    later = outlook(ask(lead=LeadTime.known(56)))
    assert often.reorder_point < later.reorder_point <= seldom.reorder_point <= later.reorder_point + 5


def test_what_is_booked_within_the_lead_time_is_bridged_and_what_comes_later_is_not() -> None:
    bare = outlook(ask())
    within = outlook(ask(booked=(Booked(20, 30),)))
    later = outlook(ask(booked=(Booked(60, 30),)))
    assert later.reorder_point == bare.reorder_point
    assert bare.reorder_point + 20 <= within.reorder_point <= bare.reorder_point + 30
    assert within.lead_demand.booked == pytest.approx(30)


def test_a_booked_week_asks_for_what_is_booked_and_for_its_usual_use_beyond() -> None:
    found = outlook(ask(booked=(Booked(8, 4), Booked(9, 2))))
    forecast = found.picked.forecast
    other = nbinom(forecast.total(1).parts[0][1], 1 / (1 + forecast.total(1).parts[0][2]))
    n = np.arange(400)
    beyond = float((np.maximum(n - 6, 0) * other.pmf(n)).sum())
    assert found.weeks[1].booked == 6
    assert found.weeks[1].expected == pytest.approx(6 + beyond, rel=1e-6)
    assert found.weeks[0].expected == pytest.approx(forecast.per_week)
    apart = outlook(ask(booked=(Booked(8, 6),), booked_in_counts=False))
    assert apart.weeks[1].expected == pytest.approx(6 + forecast.per_week)


@pytest.mark.parametrize("on_hand", [60, 90, 130])
def test_the_last_day_to_order_still_serves_and_the_next_does_not(on_hand: int) -> None:
    """With six weeks' lead time, an order of day 7w comes at the end of week 6 + w."""
    found = outlook(ask(lots=(LotLeft(on_hand),)))
    assert found.order_by_days is not None
    served = [1 - week.chance_short for week in found.weeks]
    if found.order_by_days:
        day = found.order_by_days + 42
        assert served[day // 7] - 1e-9 <= found.service <= served[day // 7 - 1] + 1e-9
    assert found.service_today == pytest.approx(served[5])
    assert found.late == (found.service_today < 0.95)


def test_at_the_reorder_point_today_is_the_last_day() -> None:
    point = outlook(ask()).reorder_point
    assert outlook(ask(lots=(LotLeft(point),))).order_by_days in (0, 1)
    assert outlook(ask(lots=(LotLeft(point - 1),))).late


def test_plenty_needs_no_order_yet() -> None:
    found = outlook(ask(lots=(LotLeft(100_000),)))
    assert found.order_by_days is None
    assert (found.suggestion.quantity, found.suggestion.wanted, found.suggestion.cap) == (0, 0, "none")
    assert found.suggestion.lasts_days is None


def test_an_open_order_that_may_come_too_late_is_told_from_one_that_is_missing() -> None:
    waiting = outlook(ask(lots=(LotLeft(8),), coming=(Coming(200, LeadTime.known(60), 5),)))
    assert waiting.short_before_it_comes
    assert not waiting.late
    assert waiting.weeks[5].chance_out_by > 0.9
    assert waiting.weeks[10].chance_short < 0.1 < waiting.weeks[10].chance_out_by


@pytest.mark.parametrize("coming", [(), (Coming(200, LeadTime.about(20, 4), 5),)])
def test_out_before_it_comes_is_at_some_time_until_then_not_on_that_day(coming: tuple[Coming, ...]) -> None:
    """An open order that comes sooner makes good what was short, but not that it was."""
    found = outlook(ask(lots=(LotLeft(8),), coming=coming))
    assert found.out_before_it_comes == pytest.approx(found.weeks[5].chance_out_by, abs=1e-9)
    assert found.out_before_it_comes >= 1 - found.service_today - 1e-9
    if coming:
        assert 1 - found.service_today < 0.05 < 0.5 < found.out_before_it_comes
        assert found.short_before_it_comes


@pytest.mark.parametrize("lead", [0, 1, 5, 40])
@pytest.mark.parametrize("coming", [(), (Coming(200, LeadTime.about(20, 4), 5),)])
def test_more_wanted_today_than_is_there_is_out_however_soon_it_comes(lead: int, coming: tuple[Coming, ...]) -> None:
    found = outlook(ask(lots=(LotLeft(3),), booked=(Booked(0, 4),), coming=coming, lead=LeadTime.known(lead)))
    assert found.out_before_it_comes > 0.99


def test_what_is_booked_later_in_the_week_is_not_wanted_yet() -> None:
    bare = ask(counts=[0] * 60 + [1], lots=(LotLeft(3),), lead=LeadTime.known(2))
    assert outlook(dataclasses.replace(bare, booked=(Booked(5, 4),))).out_before_it_comes < 0.1
    assert outlook(dataclasses.replace(bare, booked=(Booked(1, 4), Booked(5, 9)))).out_before_it_comes > 0.99


def test_it_arrives_when_it_is_expected_to() -> None:
    lead = LeadTime.about(40, 8)
    found = outlook(ask(lots=(LotLeft(100),), coming=(Coming(50, lead, 20), Coming(10, lead, -7))))
    by_week_4 = math.fsum(week.arriving for week in found.weeks[:4])
    assert by_week_4 == pytest.approx(50 * lead.waited(20).chance_by(27) + 10 * lead.chance_by(20), rel=1e-6)
    assert math.fsum(week.arriving for week in found.weeks) == pytest.approx(60, abs=0.1)


def test_an_order_later_than_it_could_be_is_expected_any_day_of_two_weeks() -> None:
    found = outlook(ask(coming=(Coming(28, LeadTime.known(30), 45),)))
    assert [week.arriving for week in found.weeks[:3]] == pytest.approx([14, 14, 0])


def test_more_orders_than_are_told_apart_are_still_all_counted() -> None:
    lead = LeadTime.about(30, 6)
    found = outlook(ask(coming=tuple(Coming(10, lead, days) for days in (25, 20, 15, 10, 5))))
    assert found.position == 50
    assert math.fsum(week.arriving for week in found.weeks) == pytest.approx(50, abs=0.1)


# What-ifs -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "change",
    [
        {"service": 0.99},
        {"lead": LeadTime.known(70)},
        {"lead": LeadTime.about(42, 20)},
        {"booked": (Booked(10, 40),)},
        {"review_days": 28},
    ],
)
def test_asking_for_more_means_a_higher_point_and_an_earlier_day(change: dict[str, Any]) -> None:
    question = ask(lots=(LotLeft(110),))
    before, after = outlook(question), outlook(dataclasses.replace(question, **change))
    assert after.reorder_point > before.reorder_point
    assert before.order_by_days is not None
    assert after.order_by_days is not None
    assert after.order_by_days <= before.order_by_days
    assert outlook(question) == before


# How much -----------------------------------------------------------------------------------------------------------


def test_an_order_brings_the_point_and_the_cover() -> None:
    found = outlook(ask(lots=(LotLeft(10),)))
    cover = found.picked.forecast.mean(8)
    assert found.suggestion.wanted == math.ceil(found.reorder_point + cover - 10)
    assert found.suggestion.quantity == found.suggestion.wanted
    assert found.suggestion.lasts_days == pytest.approx(
        7 * (10 + found.suggestion.quantity) / found.picked.forecast.per_week, abs=1
    )


def test_ordered_on_its_day_it_brings_about_the_cover() -> None:
    found = outlook(ask(lots=(LotLeft(120),)))
    assert found.order_by_days
    assert found.suggestion.wanted == pytest.approx(found.picked.forecast.mean(8), abs=5)


@pytest.mark.parametrize(("pack", "minimum"), [(1, 0), (25, 0), (1, 300), (25, 310), (7, 13)])
def test_it_is_rounded_up_to_packs_and_the_minimum(pack: int, minimum: int) -> None:
    found = outlook(ask(lots=(LotLeft(10),), pack=pack, minimum=minimum)).suggestion
    assert found.quantity % pack == 0
    assert found.quantity >= max(found.wanted, minimum)
    assert found.quantity < max(found.wanted, minimum) + pack


def test_the_shelf_holds_it_down_by_what_is_expected_on_it() -> None:
    found = outlook(ask(lots=(LotLeft(50),), room=35, pack=5))
    assert found.order_by_days is not None
    expected_there = 50 - found.picked.forecast.mean((found.order_by_days + 42) / 7)
    assert found.suggestion.cap == "room"
    assert found.suggestion.quantity == (35 - max(expected_there, 0)) // 5 * 5
    assert found.suggestion.over_cap == 0


def test_what_would_age_holds_it_down() -> None:
    question = ask(lots=(LotLeft(10),), cover_days=200, shelf_days=90)
    found, free = outlook(question).suggestion, outlook(dataclasses.replace(question, shelf_days=None)).suggestion
    forecast = outlook(question).picked.forecast
    assert (free.cap, free.expected_aged) == ("none", 0)
    assert found.cap == "age"
    total = forecast.total((42 + 90) / 7)
    # four chances in five that all of it is used by then, and not with one more
    assert 1 - total.chance_at_most(10 + found.quantity - 1) >= 0.8
    assert 1 - total.chance_at_most(10 + found.quantity) < 0.8
    lost = math.fsum(total.chance_at_most(n) for n in range(10, 10 + found.quantity))
    assert found.expected_aged == pytest.approx(lost, abs=0.02)


def test_a_smallest_order_beyond_the_cap_is_given_with_how_much_it_is_over() -> None:
    found = outlook(ask(lots=(LotLeft(10),), room=40, minimum=100)).suggestion
    assert (found.quantity, found.cap, found.over_cap) == (100, "room", 60)


# What ages ----------------------------------------------------------------------------------------------------------


def test_what_cannot_be_used_in_time_is_expected_lost_and_not_counted_on() -> None:
    found = outlook(ask(lots=(LotLeft(200), LotLeft(100, 27), LotLeft(20, 200))))
    assert [each.lot for each in found.losses] == [0, 1, 2]
    forecast = found.picked.forecast
    total = forecast.total(4)
    lost = math.fsum(total.chance_at_most(n) for n in range(100))
    assert found.losses[1].expected == pytest.approx(lost, abs=0.05)
    assert found.losses[0].expected == 0
    assert found.weeks[3].aged == pytest.approx(found.losses[1].expected)
    assert found.expected_aged == pytest.approx(math.fsum(each.expected for each in found.losses))
    fresh = outlook(ask(lots=(LotLeft(320),)))
    assert found.weeks[10].stock.p50 < fresh.weeks[10].stock.p50 - 70


def test_a_lot_on_its_last_day_is_as_good_as_lost() -> None:
    found = outlook(ask(lots=(LotLeft(40, 0),)))
    assert found.losses[0].expected == pytest.approx(40)
    assert found.weeks[0].aged == pytest.approx(40)
    assert found.weeks[0].stock.p95 == 0


# What it rests on ---------------------------------------------------------------------------------------------------


def test_a_new_item_works_from_its_expectation_and_says_so() -> None:
    found = outlook(ask(counts=(), expected_per_week=3.0, lead=lead_time([], promised_days=42)))
    assert (found.picked.reason, found.picked.forecast.weeks, found.lead.basis) == ("no_history", 0, "promise")
    assert found.weeks[0].expected == pytest.approx(3)
    # half of the rate either way, and a lead time unsure as well: much more than a known rate of three would need
    assert found.reorder_point > Forecast("sba", 3, 1e6, 1, 0).total(6).quantile(0.95) + 10


def test_no_use_and_none_booked_needs_nothing() -> None:
    found = outlook(ask(counts=[0] * 100))
    assert found.reorder_point == 0
    assert found.order_by_days is None
    assert found.weeks[-1].chance_out_by == pytest.approx(0, abs=0.05)


def test_in_millilitres_it_says_what_it_says_in_half_litres() -> None:
    """Large numbers are worked in steps; what comes out is good to a step or two."""
    few, many = (
        outlook(
            ask(
                counts=[each * unit for each in STEADY],
                lots=(LotLeft(70 * unit, 300),),
                coming=(Coming(40 * unit, LeadTime.known(42), 10),),
                booked=(Booked(15, 10 * unit),),
            )
        )
        for unit in (10, 500)
    )
    assert many.grain > few.grain
    assert many.reorder_point == pytest.approx(50 * few.reorder_point, rel=0.01)
    assert many.order_by_days == pytest.approx(few.order_by_days, abs=1)
    assert many.suggestion.quantity == pytest.approx(50 * few.suggestion.quantity, rel=0.02)
    for a, b in zip(few.weeks, many.weeks, strict=True):
        assert b.stock.p50 == pytest.approx(50 * a.stock.p50, abs=2 * many.grain)
        assert b.chance_out_by == pytest.approx(a.chance_out_by, abs=0.015)


# All together -------------------------------------------------------------------------------------------------------

LEADS = st.sampled_from(
    [
        LeadTime.known(0),
        LeadTime.known(42),
        LeadTime.about(30, 15),
        lead_time([]),
        lead_time([700, 20], still_open=[400]),
    ]
)
QUESTIONS = st.builds(
    Question,
    lead=LEADS,
    counts=st.lists(st.integers(0, 40) | st.just(0), min_size=1, max_size=80),
    lots=st.lists(st.builds(LotLeft, st.integers(0, 300), st.none() | st.integers(0, 400)), max_size=4).map(tuple),
    booked=st.lists(st.builds(Booked, st.integers(-5, 400), st.integers(0, 60)), max_size=4).map(tuple),
    coming=st.lists(st.builds(Coming, st.integers(0, 200), LEADS, st.integers(-20, 900)), max_size=5).map(tuple),
    service=st.floats(0.05, 0.999),
    cover_days=st.integers(0, 365),
    review_days=st.integers(0, 31),
    pack=st.integers(1, 60),
    minimum=st.integers(0, 500),
    shelf_days=st.none() | st.integers(0, 2000),
    used_chance=st.floats(0.05, 0.95),
    room=st.none() | st.integers(0, 1000),
    expected_per_week=st.none() | st.floats(0, 100),
    booked_in_counts=st.booleans(),
    weeks=st.integers(4, 60),
)


def check(question: Question, found: Outlook) -> None:
    figures = [
        *dataclasses.astuple(found.lead_demand),
        found.chance_met,
        found.service_today,
        found.out_before_it_comes,
        found.suggestion.expected_aged,
        found.expected_aged,
    ]
    assert all(math.isfinite(each) and each >= 0 for each in figures)
    assert found.chance_met >= question.service - 1e-6
    assert found.service_today <= 1
    assert found.out_before_it_comes <= 1
    assert len(found.weeks) == question.weeks
    assert len(found.losses) == len(question.lots)
    for each in found.losses:
        assert 0 <= each.expected <= each.quantity
    out = 0.0
    for week in found.weeks:
        fan = dataclasses.astuple(week.stock)
        assert 0 <= fan[0] <= fan[1] <= fan[2] <= fan[3] <= fan[4] <= found.position
        assert out - 1e-9 <= week.chance_out_by <= 1
        assert 0 <= week.chance_short <= week.chance_out_by
        assert week.expected >= week.booked - 1e-9
        assert week.arriving >= -1e-9
        assert week.aged >= 0
        out = week.chance_out_by
    order = found.suggestion
    assert order.quantity % question.pack == 0
    assert order.quantity == 0 or order.quantity >= question.minimum
    assert order.expected_aged <= order.quantity
    assert (order.quantity == 0) == (order.wanted == 0) or order.cap != "none"
    assert found.order_by_days is None or found.order_by_days >= 0


@given(questions=st.lists(QUESTIONS, min_size=1, max_size=3))
@settings(max_examples=25, deadline=None)
def test_no_figure_is_nan_or_out_of_its_range(questions: list[Question]) -> None:
    for question, found in zip(questions, outlooks(questions), strict=True):
        check(question, found)


@given(question=QUESTIONS, leads=st.lists(st.integers(0, 200), min_size=2, max_size=4))
@settings(max_examples=40, deadline=None)
def test_the_longer_the_lead_time_the_likelier_out_before_it_comes(question: Question, leads: list[int]) -> None:
    """With the same forecast; a longer look may be worked with another number of nodes, good to 0.01 (paths)."""
    forecast = outlook(question).picked.forecast
    asked = [dataclasses.replace(question, forecast=forecast, lead=LeadTime.known(each)) for each in sorted(leads)]
    out = [each.out_before_it_comes for each in outlooks(asked)]
    assert all(later >= sooner - 0.01 for sooner, later in itertools.pairwise(out)), out


@given(counts=st.lists(st.integers(0, 1_000_000), min_size=1, max_size=40), on_hand=st.integers(0, 1_000_000))
@settings(max_examples=25, deadline=None)
def test_nor_with_huge_counts(counts: list[int], on_hand: int) -> None:
    question = ask(counts=counts, lots=(LotLeft(on_hand, 100),), shelf_days=60)
    check(question, outlook(question))


def test_many_items_at_once_say_what_each_says_alone() -> None:
    lead = LeadTime.about(40, 10)
    questions = [
        ask(lots=(LotLeft(50, 40), LotLeft(30, 90))),
        ask(counts=LUMPY, lead=lead, coming=(Coming(30, lead, 20),), booked=(Booked(12, 9),)),
        ask(counts=(), expected_per_week=2.0, lead=LeadTime.known(300), weeks=60),
        ask(counts=[900] * 40, lots=(LotLeft(9000),), shelf_days=100),
    ]
    for question, together in zip(questions, outlooks(questions), strict=True):
        alone = outlook(question)
        for name in ("position", "reorder_point", "order_by_days", "grain"):
            assert getattr(together, name) == getattr(alone, name)
        assert together.suggestion.quantity == alone.suggestion.quantity
        assert together.service_today == pytest.approx(alone.service_today, abs=1e-9)
        for one, other in zip(together.weeks, alone.weeks, strict=True):
            assert one.stock == other.stock
            assert one.chance_out_by == pytest.approx(other.chance_out_by, abs=1e-9)


def test_no_items_no_outlooks() -> None:
    assert outlooks([]) == []


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        (lambda: ask(counts=()), "expected_per_week"),
        (lambda: ask(service=1), "service"),
        (lambda: ask(used_chance=0), "used_chance"),
        (lambda: ask(pack=0), "pack"),
        (lambda: ask(minimum=-1), "minimum"),
        (lambda: ask(cover_days=-1), "cover_days"),
        (lambda: ask(review_days=400), "review_days"),
        (lambda: ask(shelf_days=-1), "shelf_days"),
        (lambda: ask(room=-1), "room"),
        (lambda: ask(weeks=3), "weeks"),
        (lambda: ask(lead=42), "lead"),
        (lambda: ask(lots=(5,)), "lots"),
        (lambda: outlook(ask(counts=[1, -2])), r"counts\[1\]"),
        (lambda: outlooks([1]), "questions"),  # type: ignore[list-item]
        (lambda: LotLeft(-1), "quantity"),
        (lambda: LotLeft(1, -1), "days_left"),
        (lambda: Booked(1, -1), "quantity"),
        (lambda: Coming(1, LeadTime.known(1), -2000), "sent_days_ago"),
        (lambda: Coming(1, 5, 1), "lead"),  # type: ignore[arg-type]
    ],
)
def test_what_makes_no_sense_is_refused_by_name(asked: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        asked()
