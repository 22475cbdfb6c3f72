"""Where somebody stands in a programme."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.learning import (
    GAPS,
    AskedQuestion,
    AskedStep,
    Given,
    Records,
    Signed,
    Stands,
    Why,
    next_question,
    question_standing,
    stand,
)

MONDAY = date(2026, 3, 2)


def day(number: int) -> date:
    """The day of that number, counted from 1."""
    return MONDAY + timedelta(days=number - 1)


def one(step: AskedStep, records: Records | None = None, today: date = MONDAY, **more):
    return stand([step], records or Records(), today=today, **more)[step.key]


def signed(*days: int, edition: int = 1) -> Records:
    return Records(signed={1: [Signed(day(number), edition) for number in days]})


DOING = AskedStep(1, "do", times=3)


@pytest.mark.parametrize(("days", "stands", "count"), [((), "open", 0), ((1, 2), "open", 2), ((1, 2, 2), "done", 3)])
def test_a_step_is_done_when_it_was_signed_as_often_as_it_asks(days, stands, count):
    found = one(DOING, signed(*days), day(9))
    assert (found.stands, found.count, found.of) == (stands, count, 3)


def test_what_it_needs_comes_first_and_is_named():
    steps = [AskedStep(1, "watch"), AskedStep(2, "show", needs=(1,)), AskedStep(3, "show", needs=(1, 2))]
    found = stand(steps, Records(), today=MONDAY)
    assert [found[key].stands for key in (1, 2, 3)] == [Stands.OPEN, Stands.WAITS, Stands.WAITS]
    assert found[3].waits_for == (1, 2)
    assert stand(steps, signed(1), today=MONDAY)[2].stands is Stands.OPEN


def test_what_was_done_says_that_what_it_rests_on_is_not_any_more():
    steps = [AskedStep(1, "watch"), AskedStep(2, "show", needs=(1,))]
    found = stand(steps, Records(signed={2: [Signed(MONDAY)]}), today=MONDAY)
    assert (found[2].stands, found[2].lacks) == (Stands.DONE, (1,))


def test_a_refresher_is_due_on_the_same_day_of_the_month():
    step = AskedStep(1, "show", refresh_months=12)
    found = one(step, signed(1), date(2027, 3, 1))
    assert (found.stands, found.due_on) == (Stands.DONE, date(2027, 3, 2))
    assert one(step, signed(1), date(2027, 3, 2)).why is Why.TIME


def test_what_asks_again_does_not_hold_up_what_rests_on_it():
    steps = [AskedStep(1, "show", refresh_months=1), AskedStep(2, "show", needs=(1,))]
    found = stand(steps, signed(1), today=day(90))
    assert (found[1].stands, found[2].stands) == (Stands.AGAIN, Stands.OPEN)


def test_a_change_of_substance_asks_once_more_where_the_step_says_so():
    step = AskedStep(1, "do", times=3, edition=2)
    assert one(step, signed(1, 2, 3), day(9)).why is Why.CHANGED
    assert one(AskedStep(1, "do", times=3, edition=2, changed_refreshes=False), signed(1, 2, 3)).stands == "done"
    again = Records(signed={1: [*signed(1, 2, 3).signed[1], Signed(day(8), 2)]})
    assert one(step, again, day(9)).stands is Stands.DONE


def test_who_did_it_as_often_as_it_took_then_is_not_asked_to_begin_anew():
    step = AskedStep(1, "do", times=5, edition=2, times_of={1: 2})
    assert one(step, signed(1, 2), day(9)).why is Why.CHANGED
    assert one(step, signed(1), day(9)).stands is Stands.OPEN


def test_a_sheet_is_read_in_its_version_in_force():
    step = AskedStep(1, "read", in_force=2)
    assert one(step).stands is Stands.OPEN
    assert one(step, Records(read={1: (2, MONDAY)})).stands is Stands.DONE
    assert one(step, Records(read={1: (1, MONDAY)})).why is Why.SHEET


def test_a_sheet_is_read_again_after_months():
    step = AskedStep(1, "read", in_force=1, refresh_months=12)
    read = Records(read={1: (1, MONDAY)})
    assert one(step, read, date(2027, 3, 1)).due_on == date(2027, 3, 2)
    assert one(step, read, date(2027, 3, 2)).why is Why.TIME


def test_a_sheet_that_is_not_in_force_cannot_be_read_and_nobody_is_late_with_it():
    found = one(AskedStep(1, "read", day=1), today=day(9), first_day={1: MONDAY})
    assert (found.stands, found.why, found.is_behind) == (Stands.OPEN, Why.NO_SHEET, False)
    assert one(AskedStep(1, "read"), Records(read={1: (1, MONDAY)})).stands is Stands.DONE


@pytest.mark.parametrize(("today", "behind"), [(3, False), (4, True)])
def test_a_step_is_late_once_its_day_is_over(today, behind):
    found = one(AskedStep(1, "watch", day=3), today=day(today), first_day={1: MONDAY})
    assert (found.expected_on, found.is_behind) == (day(3), behind)


# Questions ------------------------------------------------------------------------------------------------------------

ASKED = AskedQuestion(1)


def answers(*told: tuple[int, bool]) -> list[Given]:
    return [Given(day(number), right) for number, right in told]


def test_right_at_once_settles_a_question():
    assert question_standing(ASKED, answers((1, True)), today=day(1)).is_settled


def test_a_wrong_answer_comes_round_again_spaced_until_it_was_right_each_time():
    told, on, due = [(1, False)], 1, []
    for gap in GAPS:
        found = question_standing(ASKED, answers(*told), today=day(on))
        assert not found.is_settled
        due.append((found.due_on - MONDAY).days + 1)
        on += gap
        told.append((on, True))
    assert due == [2, 5, 12]
    assert question_standing(ASKED, answers(*told), today=day(on)).is_settled


def test_a_wrong_one_in_between_begins_anew():
    found = question_standing(ASKED, answers((1, False), (2, True), (5, False)), today=day(5))
    assert found.due_on == day(6)


def test_an_answer_to_an_earlier_wording_settles_nothing_and_has_the_step_ask_again():
    step = AskedStep(1, "answer", questions=(AskedQuestion(1, edition=2),))
    found = one(step, Records(given={1: answers((1, True))}), day(2))
    assert (found.stands, found.why) == (Stands.AGAIN, Why.QUESTIONS)


def test_a_step_is_done_when_all_its_questions_are_settled():
    step = AskedStep(1, "answer", questions=(AskedQuestion(1), AskedQuestion(2)), day=1)
    first = one(step, Records(given={1: answers((1, True))}), day(2), first_day={1: MONDAY})
    assert (first.stands, first.count, first.of, first.is_behind) == (Stands.OPEN, 1, 2, True)
    both = Records(given={1: answers((1, True)), 2: answers((1, True))})
    assert one(step, both, day(2)).stands is Stands.DONE


def test_who_waits_for_a_question_to_come_round_is_not_late():
    step = AskedStep(1, "answer", questions=(ASKED,), day=1)
    found = one(step, Records(given={1: answers((1, False), (2, True))}), day(3), first_day={1: MONDAY})
    assert (found.stands, found.is_behind, found.due_on) == (Stands.OPEN, False, day(5))


def test_questions_come_round_after_months_too():
    step = AskedStep(1, "answer", questions=(ASKED,), refresh_months=6)
    records = Records(given={1: answers((1, True))})
    assert one(step, records, date(2026, 9, 1)).stands is Stands.DONE
    assert one(step, records, date(2026, 9, 2)).stands is Stands.AGAIN


def test_a_step_without_questions_is_never_done():
    assert one(AskedStep(1, "answer")).stands is Stands.OPEN


def test_what_comes_round_is_asked_before_what_is_new_and_not_before_its_day():
    stands = [
        question_standing(AskedQuestion(1), [], today=day(3)),
        question_standing(AskedQuestion(2), answers((2, False)), today=day(3)),
        question_standing(AskedQuestion(3), answers((3, False)), today=day(3)),
        question_standing(AskedQuestion(4), answers((1, True)), today=day(3)),
    ]
    assert next_question(stands, day(3)).key == 2
    assert next_question([stands[0], stands[2], stands[3]], day(3)).key == 1
    assert next_question(stands[2:], day(3)) is None


@given(st.lists(st.tuples(st.integers(1, 60), st.booleans()), max_size=12))
def test_a_settled_question_was_right_last_and_after_a_wrong_one_as_often_as_there_are_gaps(told):
    told = sorted(told, key=lambda answer: answer[0])
    found = question_standing(ASKED, answers(*told), today=day(90))
    tail = 0
    for _, right in reversed(told):
        if not right:
            break
        tail += 1
    was_wrong = tail < len(told)
    assert found.is_settled == (tail >= len(GAPS) if was_wrong else tail >= 1)


@given(
    st.lists(st.integers(0, 3), max_size=5),
    st.dictionaries(st.integers(0, 4), st.lists(st.integers(1, 30), min_size=1, max_size=3)),
)
def test_a_step_that_waits_names_only_what_is_not_done(needs, signed_on):
    steps = [AskedStep(key, "show", needs=tuple(n for n in {need} if n < key)) for key, need in enumerate(needs)]
    records = Records(signed={key: [Signed(day(number)) for number in days] for key, days in signed_on.items()})
    for key, found in stand(steps, records, today=day(40)).items():
        assert found.was_done == (key in signed_on)
        assert (found.stands is Stands.WAITS) == bool(found.waits_for)
        assert all(before not in signed_on for before in (*found.waits_for, *found.lacks))
