"""The day's bookings held against blanks, stylus, gas and the chip trap."""

import json
from datetime import date
from uuid import uuid4

import pytest

from shop import clock
from shop.concern import Grade
from shop.cutting import actions as cutting
from shop.duties.models import Meter
from shop.morning.concerns import concerns_of_plan
from shop.morning.plan import percent, plan_of_day
from shop.room.models import GasUse
from tests.morning.makers import blanks, book, cut, fit, room_in_order
from tests.room.makers import add_cylinder, connected_cylinder, take

DAY = date(2025, 3, 3)


@pytest.fixture(autouse=True)
def morning(room_row, at):
    with at("2025-03-03 08:05"):
        yield


@pytest.fixture
def trap(db):
    """Empty, full at 40 g."""
    return Meter.objects.create(
        key="chip", name="Chip trap", unit="mg", reset_word="emptied", care_at=30_000, hold_at=40_000
    )


def plan():
    return plan_of_day(clock.today(), clock.now())


def marks(store):
    return [side[store] for side in plan()["sides"]]


def test_nothing_booked_is_an_empty_plan(room_row):
    found = plan()
    assert (found["day"], found["sides"], found["stores"], found["cut"]) == ("2025-03-03", [], [], "0:00")
    assert list(concerns_of_plan(found)) == []


def test_is_plain_data(engineer, trap):
    room_in_order(engineer)
    fit(engineer)
    blanks(engineer)
    book(engineer)
    found = plan()
    assert json.loads(json.dumps(found)) == found


def test_sides_come_in_the_order_of_their_bookings_leftovers_first(engineer, at):
    with at("2025-03-01 09:00"):
        book(engineer, "A", code="B-0001")
    book(engineer, "B", "A", code="B-0002")
    book(engineer, "A", code="B-0003", on=date(2025, 3, 4))
    sides = plan()["sides"]
    assert [(side["code"], side["label"]) for side in sides] == [("B-0001", "A"), ("B-0002", "A"), ("B-0002", "B")]
    assert [side["late_from"] for side in sides] == ["2025-03-01", None, None]
    assert sides[0]["words"] == "12 inch, 33⅓, 20:00"


def test_each_side_takes_a_blank_of_its_size(engineer):
    blanks(engineer, 2)
    book(engineer, "A", "B", "C")
    assert [(mark["words"], mark["enough"]) for mark in marks("blank")] == [
        ("1 left after it", True),
        ("takes the last one", True),
        ("none left", False),
    ]
    assert [mark["share"] for mark in marks("blank")] == [0.5, 0.0, 0.0]


def test_blanks_that_are_past_their_date_do_not_count(engineer):
    blanks(engineer, 5, best_before=date(2025, 3, 2), received_on=date(2025, 1, 1))
    book(engineer, "A")
    assert marks("blank")[0]["enough"] is False


def test_the_stylus_is_asked_for_all_sides_so_far(engineer):
    fit(engineer, expected_h=4.0)
    book(engineer, "A", "B", "C")
    chances = [mark["share"] for mark in marks("stylus")]
    assert 1 > chances[0] > chances[1] > chances[2] > 0


def test_a_chance_under_the_shops_own_is_not_enough_and_says_so(engineer):
    fitting = fit(engineer, expected_h=4.0)
    type(fitting.life).objects.filter(pk=fitting.life.pk).update(cut_s=5 * 3600)
    book(engineer, "A", "B")
    found = plan()
    mark = found["sides"][1]["stylus"]
    assert mark["enough"] is False
    assert mark["words"].startswith("only ")
    stylus = next(store for store in found["stores"] if store["name"].startswith("Stylus"))
    assert stylus["short"] == "Under the shop's 90\u00a0%"


def test_what_is_missing_is_counted(engineer):
    blanks(engineer, 1)
    book(engineer, "A", "B", "C")
    store = plan()["stores"][0]
    assert (store["name"], store["sum"], store["mark"]["words"]) == (
        "14 inch blanks",
        "3 wanted, 1 usable",
        "2 missing",
    )


def test_no_stylus_is_not_enough(engineer):
    book(engineer, "A")
    assert marks("stylus") == [{"share": None, "words": "none fitted", "enough": False}]


def test_the_better_of_two_styli_is_planned_with(engineer):
    fit(engineer, mark="S-1")
    fitting = fit(engineer, mark="S-2", lathe="Lathe two")
    type(fitting.life).objects.filter(pk=fitting.life.pk).update(cut_s=18 * 3600)
    book(engineer, "A")
    stylus = next(store for store in plan()["stores"] if store["name"].startswith("Stylus"))
    assert stylus["name"] == "Stylus S-1 in Lathe one"


def test_an_edge_in_doubt_is_not_planned_with_while_there_is_another_and_else_said(engineer, trap):
    Meter.objects.create(key="line", name="Vacuum line", unit="s", reset_word="cleaned")
    fitting = fit(engineer, mark="S-1")
    booking = book(engineer, "A", "B")
    blanks(engineer)
    chipped = cutting.add_reject_reason(by=engineer, once=uuid4(), name="Dragged", blame="edge")
    rejected = cut(engineer, booking, outcome="rejected", reject_reason=chipped)
    assert rejected.life == fitting.life
    found = plan()
    stylus = next(store for store in found["stores"] if store["name"].startswith("Stylus"))
    assert (stylus["mark"]["words"], stylus["mark"]["enough"]) == ("its edge may be chipped", False)
    assert [side["stylus"]["words"] for side in found["sides"]] == ["its edge may be chipped"] * 2
    worn = fit(engineer, mark="S-2", lathe="Lathe two")
    type(worn.life).objects.filter(pk=worn.life.pk).update(cut_s=18 * 3600)
    stylus = next(store for store in plan()["stores"] if store["name"].startswith("Stylus"))
    assert stylus["name"] == "Stylus S-2 in Lathe two"
    assert "the best of those in the heads" in stylus["sum"]


def test_gas_goes_down_side_by_side_by_the_shops_own_grams(engineer):
    GasUse.objects.create(pk=1, side_g=4000.0, reserve_bar=10.0)
    connected_cylinder(engineer)
    take(engineer, nitrogen_bar=200.0, room_c=15.0)
    book(engineer, "A", "B", "C")
    assert [mark["enough"] for mark in marks("gas")] == [True, True, False]
    assert marks("gas")[2]["words"] == "too little"
    shares = [mark["share"] for mark in marks("gas")]
    # check value C-7: 11.2 kg in 50 l at 200 bar and 15 °C, of which each side takes 4 kg
    assert shares[0] - shares[1] == pytest.approx(4 / 11.2, rel=0.01)


def test_each_line_says_after_what_it_is(engineer, trap):
    room_in_order(engineer)
    take(engineer, nitrogen_bar=190.0, room_c=20.0)
    fit(engineer)
    blanks(engineer, 5)
    book(engineer, "A", "B")
    found = plan()
    for store, end in (("blank", "4 left after it"), ("stylus", " to its end"), ("gas", " left after it")):
        assert found["sides"][0][store]["words"].endswith(end)
    assert found["sides"][0]["chip"]["words"].endswith(" full after it")
    words = [store["mark"]["words"].split("\u00a0%")[-1] for store in found["stores"]]
    assert words == ["3 left after today", " chance to finish", " left after today", " full after today"]


def test_sides_cut_since_the_gauge_was_read_have_taken_their_gas(engineer, trap, at):
    Meter.objects.create(key="line", name="Vacuum line", unit="s", reset_word="cleaned")
    room_in_order(engineer)
    GasUse.objects.create(pk=1, side_g=200.0, reserve_bar=10.0)
    take(engineer, nitrogen_bar=190.0, room_c=20.0)
    fit(engineer)
    blanks(engineer)
    booking = book(engineer, "A", "B")
    before = plan()
    with at("2025-03-03 09:00"):
        mistaken = cut(engineer, booking)
        after = plan()
        cutting.withdraw_side(by=engineer, once=uuid4(), side=mistaken, reason="The wrong side.")
        taken_back = plan()
    at_first, later, again = (
        next(store for store in one["stores"] if store["name"].startswith("Nitrogen"))
        for one in (before, after, taken_back)
    )
    assert later["mark"]["share"] == pytest.approx(at_first["mark"]["share"])
    assert "by the gauge at 08:05; " in at_first["sum"]
    assert "by the gauge at 08:05, less 1 side since; " in later["sum"]
    assert again == at_first


def test_gas_that_will_not_last_is_a_concern(engineer):
    GasUse.objects.create(pk=1, side_g=4000.0, reserve_bar=10.0)
    connected_cylinder(engineer)
    take(engineer, nitrogen_bar=200.0, room_c=15.0)
    book(engineer, "A", "B", "C")
    (worry,) = concerns_of_plan(plan())
    assert (worry.key, worry.grade) == ("morning:gas", Grade.CARE)
    assert worry.headline == "The gas lasts for 2 of the 3 sides booked today"
    assert "No full cylinder stands ready" in worry.reason
    add_cylinder(engineer, "N-18")
    (worry,) = concerns_of_plan(plan())
    assert worry.grade == Grade.CARE
    assert "change between sides" in worry.what_to_do


def test_gas_for_not_even_one_side_and_no_other_cylinder_is_a_hold(engineer):
    GasUse.objects.create(pk=1, side_g=20_000.0, reserve_bar=10.0)
    connected_cylinder(engineer)
    take(engineer, nitrogen_bar=200.0, room_c=15.0)
    book(engineer, "A")
    (worry,) = concerns_of_plan(plan())
    assert (worry.grade, worry.headline) == (Grade.HOLD, "The gas lasts for less than the one side booked today")


def test_without_a_cylinder_that_is_the_rooms_worry_alone(engineer):
    book(engineer, "A")
    found = plan()
    assert found["sides"][0]["gas"] == {"share": None, "words": "no cylinder", "enough": False}
    assert list(concerns_of_plan(found)) == []


def test_nothing_is_said_of_gas_before_its_gauge_was_read(engineer):
    GasUse.objects.create(pk=1, side_g=20_000.0, reserve_bar=10.0)
    connected_cylinder(engineer)
    book(engineer, "A")
    found = plan()
    assert found["sides"][0]["gas"] == {"share": None, "words": "gauge not read", "enough": None}
    gas = next(store for store in found["stores"] if store["name"] == "Nitrogen, cylinder N-17")
    assert gas["sum"] == "1 side wanted, its gauge was not read yet; no full one stands ready"
    assert gas["mark"]["share"] is None
    assert list(concerns_of_plan(found)) == []


def test_the_trap_fills_side_by_side(engineer, trap):
    Meter.objects.update(value=20_000)
    book(engineer, "A", "B")
    shares = [mark["share"] for mark in marks("chip")]
    assert 0.5 < shares[0] < shares[1]
    # a 56 µm groove of twenty minutes lifts a few grams: section 784 µm², some 550 m, 1.6 g/cm³
    assert shares[1] - shares[0] == pytest.approx(0.69 / 40, rel=0.25)


def test_a_trap_that_fills_during_the_day_is_a_concern(engineer, trap):
    room_in_order(engineer)
    Meter.objects.update(value=39_000)
    book(engineer, "A", "B", "C")
    (worry,) = [one for one in concerns_of_plan(plan()) if one.key == "morning:chip"]
    assert worry.grade == Grade.CARE
    assert worry.headline == "The chip trap is full after 2 of the 3 sides booked today"


def test_a_trap_that_is_full_already_is_the_duties_worry_alone(engineer, trap):
    room_in_order(engineer)
    Meter.objects.update(value=41_000)
    book(engineer, "A")
    found = plan()
    assert found["sides"][0]["chip"]["enough"] is False
    assert list(concerns_of_plan(found)) == []


def test_a_trap_without_a_limit_says_so(engineer, trap):
    Meter.objects.update(care_at=None, hold_at=None)
    book(engineer, "A")
    assert marks("chip") == [{"share": None, "words": "no limit set", "enough": None}]


def test_a_cut_side_is_planned_no_more(engineer, trap):
    Meter.objects.create(key="line", name="Vacuum line", unit="s", reset_word="cleaned")
    room_in_order(engineer)
    fit(engineer)
    blanks(engineer)
    booking = book(engineer, "A", "B")
    before = plan()["sides"]
    cut(engineer, booking, "A")
    after = plan()["sides"]
    assert [side["label"] for side in after] == ["B"]
    assert after[0]["blank"]["words"] == before[1]["blank"]["words"]


def test_a_side_too_long_for_its_disc_says_so(engineer):
    book(engineer, "A", play_s=1200)
    assert plan()["sides"][0]["fits"]
    from shop.cutting.models import BookingSide

    BookingSide.objects.update(play_s=3600)
    assert not plan()["sides"][0]["fits"]


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "0 %"), (0.001, "under 1 %"), (0.424, "42 %"), (0.9985, "over 99 %"), (1.0, "100 %"), (1.37, "137 %")],
)
def test_percent_never_rounds_to_none_or_all(share, words):
    assert percent(share) == words.replace(" %", "\u00a0%")
