"""Counting the shelf blind: starting, entering, giving in, explaining, agreeing."""

import pytest

from shop.refusal import Doubtful, NotAllowed, Refused
from shop.stock import actions, queries
from shop.stock.actions.counts import Counted, Explained, differences_of
from shop.stock.models import Count, CountLine, Movement, Settled, Tally
from shop.stock.queries import ledger_faults
from tests.makers import at, moment
from tests.stock.makers import (
    count_it,
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
def morning():
    with at("2025-03-03 08:00"):
        yield


@pytest.fixture
def lots(engineer, morning):
    """Two lots of blanks, ten and twenty, and two litres and a half of a liquid."""
    item = make_item(engineer)
    return {
        "a": make_lot(engineer, item, 10, code="A"),
        "b": make_lot(engineer, item, 20, code="B"),
        "w": make_lot(engineer, make_liquid(engineer), 2500, code="W"),
    }


@pytest.fixture
def count(assistant, lots):
    with at("2025-03-03 09:00"):
        return start(assistant)


def start(by, **other):
    return actions.start_count(by=by, once=once(), **other)


def line(count, code):
    return count.lines.get(lot__code=code)


def enter(by, count, when="2025-03-03 10:00", **found):
    """enter(by, count, A=10): so many of lot A were found, at that time."""
    with at(when):
        counted = [Counted(line(count, code), number) for code, number in found.items()]
        return actions.enter_count(by=by, once=once(), count=count, counted=counted)


def give_in(by, count, sure=("left:1", "left:2")):
    return actions.give_in_count(by=by, once=once(), count=count, sure=list(sure))


def explain(by, count, **why):
    reasons = [Explained(line(count, code), said) for code, said in why.items()]
    return actions.explain_count(by=by, once=once(), count=count, reasons=reasons)


def agree(by, count, when="2025-03-03 12:00", **other):
    with at(when):
        return actions.agree_count(by=by, once=once(), count=count, **other)


def compared(count):
    """(expected, change) of each lot that was counted, by code."""
    return {one.line.lot.code: (one.expected, one.change) for one in queries.compare(queries.lines(count))}


def out_of_turn(lots):
    return {"sure": [f"out-of-turn:{lots['a'].pk}"]}


def on_hand(lot):
    lot.refresh_from_db()
    return lot.on_hand


# Starting -------------------------------------------------------------------------------------------------------------


def test_a_count_covers_what_the_ledger_says_is_there(engineer, assistant, lots):
    use(engineer, lots["a"], 10)
    blanks = start(assistant, which="kind", kind="blank")
    assert [one.lot.code for one in queries.lines(blanks)] == ["B"]
    assert blanks.about == "All blanks"
    some = start(assistant, which="items", items=[lots["w"].item])
    assert ([one.lot.code for one in queries.lines(some)], some.about) == (["W"], "Wiping solvent")


def test_lots_come_in_the_order_of_the_shelf(engineer, assistant, lots):
    item = lots["w"].item
    item.place = "Cabinet"
    item.save()
    assert [one.lot.code for one in queries.lines(start(assistant))] == ["A", "B", "W"]


def test_a_count_of_nothing_or_of_what_is_not_offered_is_refused(assistant, lots):
    for asked, field in (
        ({"which": "kind", "kind": "stylus"}, "kind"),
        ({"which": "kind", "kind": "spoon"}, "kind"),
        ({"which": "kind"}, "kind"),
        ({"which": "items"}, "items"),
        ({"which": "some"}, "which"),
    ):
        with pytest.raises(Refused) as refused:
            start(assistant, **asked)
        assert refused.value.field == field
    assert not Count.objects.exists()


def test_too_many_lots_are_refused(assistant, lots, monkeypatch):
    monkeypatch.setattr("shop.stock.actions.counts.MOST_LINES", 2)
    with pytest.raises(Refused, match="one kind at a time"):
        start(assistant)


def test_a_second_count_of_the_same_lots_is_asked_about(assistant, count):
    with pytest.raises(Doubtful, match="which is not settled") as asked:
        start(assistant, which="kind", kind="blank")
    second = start(assistant, which="kind", kind="blank", sure=[doubt.key for doubt in asked.value.doubts])
    assert second.lines.count() == 2


# Entering -------------------------------------------------------------------------------------------------------------


def test_what_was_found_is_kept_with_who_and_when(assistant, count):
    enter(assistant, count, A=9)
    tally = Tally.objects.get()
    assert (tally.counted, tally.by, tally.at, tally.line.lot.code) == (9, assistant, moment("2025-03-03 10:00"), "A")
    assert tally.after == Movement.objects.filter(lot__code="A").latest("id")
    assert [one.lot.code for one in queries.uncounted(count)] == ["B", "W"]


def test_the_latest_number_counts_and_the_others_stay(assistant, engineer, count):
    enter(assistant, count, A=9)
    enter(engineer, count, A=10, when="2025-03-03 10:05")
    assert compared(count) == {"A": (10, 0)}
    assert Tally.objects.count() == 2


def test_none_may_be_found_but_not_less(assistant, count):
    enter(assistant, count, A=0)
    for wrong in (-1, 1_000_001, 2.5):
        with pytest.raises(Refused) as refused:
            enter(assistant, count, B=wrong)
        assert refused.value.field == f"line-{line(count, 'B').pk}"
    with pytest.raises(Refused, match="at least one number"):
        enter(assistant, count)


def test_a_list_on_paper_is_entered_with_the_time_it_was_counted(engineer, assistant, count, lots):
    with at("2025-03-03 11:00"):
        use(engineer, lots["a"], 4)
    with at("2025-03-03 11:30"):
        counted = [Counted(line(count, "A"), 10)]
        typed = {"by": assistant, "once": once(), "count": count, "counted": counted}
        actions.enter_count(**typed, at=moment("2025-03-03 09:00"))
        for wrong in ("2025-03-03 08:59", "2025-03-03 11:31"):
            with pytest.raises(Refused) as refused:
                actions.enter_count(**typed | {"once": once()}, at=moment(wrong))
            assert refused.value.field == "at"
    assert compared(count) == {"A": (10, 0)}


def test_a_line_of_another_count_is_refused(assistant, count):
    other = start(assistant, sure=[f"also-in:{count.pk}"])
    with pytest.raises(Refused, match="not in this count"):
        actions.enter_count(by=assistant, once=once(), count=count, counted=[Counted(line(other, "A"), 1)])


def test_the_same_press_twice_is_one_entry(assistant, count):
    token, counted = once(), [Counted(line(count, "A"), 9)]
    for _ in range(2):
        actions.enter_count(by=assistant, once=token, count=count, counted=counted)
    assert Tally.objects.count() == 1


def test_a_lot_found_besides_is_taken_in_by_its_code(engineer, assistant, count, lots):
    use(engineer, lots["a"], 10)
    used_up = lots["a"]
    other = start(assistant, which="kind", kind="liquid", sure=[f"also-in:{count.pk}"])
    added = actions.add_to_count(by=assistant, once=once(), count=other, code=" a ")
    assert (added.lot, added.count) == (used_up, other)
    enter(assistant, other, A=2)
    assert compared(other) == {"A": (0, 2)}
    with pytest.raises(Refused, match="in this count already"):
        actions.add_to_count(by=assistant, once=once(), count=other, code="A")


def test_a_lot_that_nobody_knows_is_to_be_received(engineer, assistant, count):
    with pytest.raises(Refused, match="receive it as a delivery") as refused:
        actions.add_to_count(by=assistant, once=once(), count=count, code="NEW")
    assert refused.value.field == "code"
    item = make_item(engineer, "12-inch blank", kind="blank", blank_in=12)
    make_lot(engineer, item, 5, code="A", supplier=make_supplier(engineer))
    with pytest.raises(Refused, match="say which item") as refused:
        actions.add_to_count(by=assistant, once=once(), count=count, code="A")
    assert refused.value.field == "item"
    assert actions.add_to_count(by=assistant, once=once(), count=count, code="A", item=item).lot.item == item


# Giving in, explaining, agreeing --------------------------------------------------------------------------------------


def test_lots_that_were_not_counted_are_asked_about_and_left_as_they_are(assistant, engineer, count, lots):
    with pytest.raises(Refused, match="Nothing was counted yet"):
        give_in(assistant, count)
    enter(assistant, count, A=9)
    with pytest.raises(Doubtful, match="2 lots were not counted"):
        give_in(assistant, count, sure=[])
    give_in(assistant, count)
    explain(assistant, count, A="one is gone")
    agree(engineer, count)
    assert (on_hand(lots["a"]), on_hand(lots["b"])) == (9, 20)
    assert Movement.objects.filter(kind="counted").count() == 1


@pytest.fixture
def given(assistant, count):
    """Nine found of ten, twenty of twenty, and 2.5 l."""
    enter(assistant, count, A=9, B=20, W=2500)
    return give_in(assistant, count)


def test_one_movement_for_each_lot_as_of_when_it_was_counted(assistant, engineer, given, lots):
    explain(assistant, given, A="dropped behind the shelf")
    agree(engineer, given)
    lines = Movement.objects.filter(kind="counted").order_by("lot__code")
    assert [(one.lot.code, one.change, one.by, one.at) for one in lines] == [
        (code, change, assistant, moment("2025-03-03 10:00")) for code, change in (("A", -1), ("B", 0), ("W", 0))
    ]
    assert lines[0].recorded_at == moment("2025-03-03 12:00")
    assert lines[0].note == f"Count {given.pk}, agreed by Edvin Maarsk: dropped behind the shelf"
    told = Settled.objects.order_by("tally__line__lot__code")
    assert [(one.expected, one.reason, one.movement) for one in told] == [
        (10, "dropped behind the shelf", lines[0]),
        (20, "", lines[1]),
        (2500, "", lines[2]),
    ]
    assert [(step.kind, step.by) for step in given.steps.all()] == [
        ("started", assistant),
        ("given", assistant),
        ("agreed", engineer),
    ]
    assert ledger_faults() == []


def test_a_difference_needs_a_reason(assistant, engineer, given):
    with pytest.raises(Refused, match="Say first why it differs: lot A"):
        agree(engineer, given)
    explain(assistant, given, A="   ")
    with pytest.raises(Refused, match="lot A"):
        agree(engineer, given)
    explain(assistant, given, A="not known")
    agree(engineer, given)


def test_counting_again_takes_the_reason_back(assistant, engineer, given):
    explain(assistant, given, A="not known")
    enter(engineer, given, A=8, when="2025-03-03 11:00")
    assert line(given, "A").reason == ""
    with pytest.raises(Refused, match="lot A"):
        agree(engineer, given)
    enter(assistant, given, A=10, when="2025-03-03 11:10")
    agree(engineer, given)
    assert Movement.objects.filter(kind="counted", change=0).count() == 3


def test_only_an_engineer_agrees_and_a_visitor_does_nothing(assistant, visitor, given):
    explain(assistant, given, A="not known")
    with pytest.raises(NotAllowed):
        agree(assistant, given)
    for act, more in (
        (actions.start_count, {}),
        (actions.enter_count, {"count": given, "counted": []}),
        (actions.give_in_count, {"count": given}),
        (actions.explain_count, {"count": given, "reasons": []}),
        (actions.drop_count, {"count": given}),
        (actions.add_to_count, {"count": given, "code": "A"}),
    ):
        with pytest.raises(NotAllowed):
            act(by=visitor, once=once(), **more)


def test_what_differs_less_than_it_shows_is_the_same(owner, engineer, assistant, count):
    """Half a millilitre is no difference, in whichever units it was counted."""
    assistant.liquid_unit = "gal"
    assistant.save()
    enter(assistant, count, W=2499)
    assert compared(count) == {"W": (2500, 0)}


def test_a_dropped_count_changes_nothing_and_stays_on_record(assistant, engineer, given, lots):
    actions.drop_count(by=assistant, once=once(), count=given, why="the box was open")
    assert on_hand(lots["a"]) == 10
    assert Tally.objects.count() == 3
    for act, more in (
        (actions.agree_count, {}),
        (actions.give_in_count, {}),
        (actions.drop_count, {}),
        (actions.explain_count, {"reasons": []}),
        (actions.enter_count, {"counted": []}),
    ):
        with pytest.raises(Refused, match="is dropped"):
            act(by=engineer, once=once(), count=given, **more)


def test_it_is_agreed_once(assistant, engineer, given):
    explain(assistant, given, A="not known")
    token = once()
    for _ in range(2):  # the same press
        with at("2025-03-03 12:00"):
            actions.agree_count(by=engineer, once=token, count=given)
    with pytest.raises(Refused, match="is agreed"):
        agree(engineer, given)
    assert Movement.objects.filter(kind="counted").count() == 3


def test_what_is_agreed_to_is_what_was_seen(assistant, engineer, given, lots):
    explain(assistant, given, A="not known")
    seen = differences_of(queries.compare(queries.lines(given)))
    with at("2025-03-03 11:00"):
        use(engineer, lots["a"], 1, at=moment("2025-03-03 09:30"))
    with pytest.raises(Refused, match="others now"):
        agree(engineer, given, seen=seen)
    agree(engineer, given, seen=differences_of(queries.compare(queries.lines(given))))


# What happens in between ----------------------------------------------------------------------------------------------


def test_what_was_taken_after_counting_stays_taken(assistant, engineer, given, lots):
    with at("2025-03-03 11:00"):
        use(engineer, lots["a"], 3)
    assert compared(given)["A"] == (10, -1)
    explain(assistant, given, A="not known")
    agree(engineer, given)
    assert on_hand(lots["a"]) == 6
    assert ledger_faults() == []


def test_what_was_taken_before_but_written_down_after_was_counted_already(assistant, engineer, given, lots):
    with at("2025-03-03 11:00"):
        use(engineer, lots["a"], 1, at=moment("2025-03-03 09:45"))
    assert compared(given)["A"] == (9, 0)
    agree(engineer, given)
    assert on_hand(lots["a"]) == 9


def test_a_mistake_of_before_that_is_undone_after_is_no_difference(engineer, assistant, lots, count):
    with at("2025-03-03 09:10"):
        mistaken = use(engineer, lots["b"], 2, **out_of_turn(lots))
    enter(assistant, count, B=20)
    assert compared(count) == {"B": (18, 2)}
    with at("2025-03-03 11:00"):
        reverse(engineer, mistaken)
    assert compared(count) == {"B": (20, 0)}
    with at("2025-03-03 11:05"):
        reverse(engineer, use(engineer, lots["b"], 5, **out_of_turn(lots)))
    assert compared(count) == {"B": (20, 0)}


def test_at_the_very_moment_the_order_of_the_ledger_decides(engineer, assistant, lots, count):
    with at("2025-03-03 10:00"):
        use(engineer, lots["a"], 1)
    enter(assistant, count, A=9)
    with at("2025-03-03 10:00"):
        use(assistant, lots["a"], 1)
    assert compared(count) == {"A": (9, 0)}


def test_a_lot_put_right_elsewhere_has_to_be_counted_again(assistant, engineer, given, lots):
    explain(assistant, given, A="not known")
    with at("2025-03-03 11:00"):
        count_it(assistant, lots["a"], 9, reason="just looked")
    with pytest.raises(Refused, match="Counted and put right elsewhere since: lot A"):
        agree(engineer, given)
    enter(assistant, given, A=9, when="2025-03-03 11:30")
    agree(engineer, given)
    assert on_hand(lots["a"]) == 9


def test_two_counts_of_one_lot_do_not_put_it_right_twice(assistant, engineer, given, lots):
    second = start(assistant, sure=[f"also-in:{given.pk}"])
    enter(assistant, second, A=9, when="2025-03-03 10:30")
    give_in(assistant, second)
    for one in (second, given):
        explain(assistant, one, A="not known")
    agree(engineer, second)
    with pytest.raises(Refused, match="put right elsewhere"):
        agree(engineer, given)
    assert on_hand(lots["a"]) == 9


def test_more_taken_since_than_was_there_is_refused(assistant, engineer, given, lots):
    with at("2025-03-03 11:00"):
        use(engineer, lots["a"], 10)
    explain(assistant, given, A="not known")
    with pytest.raises(Refused, match="More was taken since than was counted: lot A"):
        agree(engineer, given)
    assert not Movement.objects.filter(kind="counted").exists()
    assert Count.objects.get(pk=given.pk).state == "given"


def test_as_many_queries_for_many_lots_as_for_few(engineer, assistant, lots, count, django_assert_num_queries):
    enter(assistant, count, A=9, B=20)
    with django_assert_num_queries(3):
        queries.compare(queries.lines(count))
    for number in range(10):
        make_lot(engineer, lots["a"].item, 5, code=f"M{number}")
        actions.add_to_count(by=assistant, once=once(), count=count, code=f"M{number}")
    enter(assistant, count, **{f"M{number}": 5 for number in range(10)})
    with django_assert_num_queries(3):
        assert len(queries.compare(queries.lines(count))) == 12


def test_a_lot_is_in_a_count_only_once(count):
    from django.db import IntegrityError, transaction

    with pytest.raises(IntegrityError), transaction.atomic():
        CountLine.objects.create(count=count, lot=line(count, "A").lot)
