"""Signing the morning check: what is kept, what is refused, what is asked, what the verdict is made of."""

from datetime import date
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from shop.concern import Grade
from shop.cutting import actions as cutting
from shop.morning import actions
from shop.morning.answers import Given
from shop.morning.models import Answer, Check, Verdict
from shop.refusal import Doubtful, NotAllowed, Refused, TokenTrouble
from shop.room.models import Reading, ReadingKind
from tests.cutting.makers import cut, make_bench
from tests.makers import moment
from tests.morning.makers import CAN, EXITS, LAMP, VALUES, ask, given, make_check, make_list, room_in_order
from tests.room.makers import set_limit


@pytest.fixture
def asked(engineer, at):
    with at("2025-03-03 08:05"):
        room_in_order(engineer)
        yield make_list(engineer)


def keys(check):
    return {one["key"] for one in check.concerns}


def test_a_note_stays_only_where_something_was_found_or_not_read(asked, assistant):
    notes = {CAN: "It stood open.", EXITS: "A crate before it.", "room_rh": "Battery flat.", "room_c": "Glass broken."}
    check = make_check(assistant, no=[CAN], left_out=["room_rh"], notes=notes)
    kept = {answer.question.reading or answer.text: answer.note for answer in check.answers.all() if answer.note}
    assert kept == {CAN: "It stood open.", "room_rh": "Battery flat."}


def test_keeps_who_when_answers_and_readings(asked, assistant):
    check = make_check(assistant, note="Quiet morning.")
    assert (check.day, check.at, check.by) == (date(2025, 3, 3), moment("2025-03-03 08:05"), assistant)
    assert (check.signed_as, check.room_name, check.note) == (
        "Asta Pellow",
        "Tindrum Street Cutting Room",
        "Quiet morning.",
    )
    answers = {answer.text: answer for answer in check.answers.all()}
    assert [answers[text].yes for text in (EXITS, CAN, LAMP)] == [True, True, True]
    assert {a.reading.kind: a.reading.value for a in answers.values() if a.reading} == VALUES
    gauge = Reading.objects.get(kind=ReadingKind.NITROGEN_BAR)
    assert (gauge.cylinder.mark, gauge.by, gauge.at) == ("N-17", assistant, check.at)


def test_nothing_amiss_is_clear_to_cut(asked, assistant):
    check = make_check(assistant)
    assert check.verdict == Verdict.CLEAR
    assert check.concerns == []


@pytest.mark.parametrize(
    ("no", "verdict", "grade"),
    [
        (EXITS, Verdict.HOLD, Grade.HOLD),
        (CAN, Verdict.CARE, Grade.CARE),
        (LAMP, Verdict.CLEAR, Grade.NOTE),
    ],
)
def test_a_no_weighs_what_the_question_says(asked, assistant, no, verdict, grade):
    check = make_check(assistant, no=[no], notes={no: "Found it so."})
    assert check.verdict == verdict
    (reason,) = check.concerns
    assert reason["grade"] == grade
    assert no in reason["headline"]
    assert reason["reason"] == "Noted: Found it so."
    assert reason["what_to_do"] == f"Put right: {no}"


def test_the_verdict_is_the_worst_of_all(asked, assistant):
    check = make_check(assistant, no=[CAN, EXITS, LAMP])
    assert check.verdict == Verdict.HOLD
    assert [one["grade"] for one in check.concerns] == [3, 2, 1]


@pytest.mark.parametrize(("blame", "verdict"), [("edge", Verdict.HOLD), ("stylus", Verdict.CARE)])
def test_it_follows_the_edge_of_the_stylus(asked, assistant, engineer, blame, verdict):
    bench = make_bench(engineer)
    reason = cutting.add_reject_reason(by=engineer, once=uuid4(), name="Tip chipped", blame=blame)
    cut(bench, outcome="rejected", reject_reason=reason, cut_s=90)
    check = make_check(assistant)
    assert (check.verdict, check.concerns[0]["subject"]) == (verdict, "R-1")
    cutting.look_over_stylus(by=assistant, once=uuid4(), stylus=bench.stylus, seen="whole at 200 times")
    assert make_check(assistant).verdict == Verdict.CLEAR


def test_a_reading_left_out_needs_a_reason_and_says_so(asked, assistant):
    with pytest.raises(Refused, match="say why it can't be read") as no:
        actions.make_check(
            by=assistant,
            once=uuid4(),
            answers=[
                Given(one.question, yes=one.yes, value=None if one.question.reading == "room_rh" else one.value)
                for one in given()
            ],
        )
    assert no.value.field == f"q{asked['room_rh'].pk}"
    assert not Check.objects.exists()
    check = make_check(assistant, left_out=["room_rh"], notes={"room_rh": "Battery flat."})
    (reason,) = check.concerns
    assert check.verdict == Verdict.CARE
    assert reason["headline"] == "Room humidity was not read"
    assert reason["reason"] == "Noted: Battery flat."
    assert check.answers.get(question=asked["room_rh"]).was_left_out


def test_readings_of_this_check_count_in_its_verdict(asked, assistant):
    set_limit("room_rh", hold_below=30.0, care_below=38.0)
    check = make_check(assistant, room_rh=33.0)
    assert check.verdict == Verdict.CARE
    assert "room:limit:room_rh" in keys(check)


def test_the_room_temperature_of_the_check_is_that_of_the_gas(asked, assistant):
    from shop import clock
    from shop.room.queries import gas_state

    make_check(assistant, room_c=27.0)
    state = gas_state(clock.now())
    assert (state.celsius, state.is_assumed_c, state.gauge_bar) == (27.0, False, 190.0)


def test_gas_that_went_with_no_side_cut_is_in_the_verdict(asked, assistant, at):
    make_check(assistant)
    with at("2025-03-04 08:00"):
        with pytest.raises(Doubtful, match="look for a leak") as raised:
            make_check(assistant, nitrogen_bar=150.0)
        check = make_check(assistant, nitrogen_bar=150.0, sure={doubt.key for doubt in raised.value.doubts})
    assert check.verdict == Verdict.CARE
    (gone,) = [one for one in check.concerns if one["key"].startswith("room:gas:gone")]
    assert gone["grade"] == Grade.CARE
    assert "of nitrogen went" in gone["headline"]


def test_asks_about_all_that_looks_wrong_at_once_and_takes_it_when_sure(asked, assistant):
    with pytest.raises(Doubtful) as asking:
        make_check(assistant, room_c=68.0, room_rh=4.0)
    doubts = asking.value.doubts
    assert {doubt.field for doubt in doubts} >= {f"q{asked['room_c'].pk}", f"q{asked['room_rh'].pk}"}
    assert not Check.objects.exists()
    assert not Reading.objects.exists()
    check = make_check(assistant, room_c=68.0, room_rh=4.0, sure=[doubt.key for doubt in doubts])
    assert check.answers.get(question=asked["room_c"]).reading.value == 68.0


def test_refuses_what_cannot_be(asked, assistant):
    with pytest.raises(Refused, match="between 0 and 100") as no:
        make_check(assistant, room_rh=120.0)
    assert no.value.field == f"q{asked['room_rh'].pk}"
    assert not Reading.objects.exists()


def test_without_a_cylinder_the_gauge_is_refused_but_may_be_left_out(engineer, assistant, at):
    with at("2025-03-03 08:05"):
        asked = make_list(engineer)
        with pytest.raises(Refused, match="No cylinder is connected") as no:
            make_check(assistant)
        assert no.value.field == f"q{asked['nitrogen_bar'].pk}"
        check = make_check(assistant, left_out=["nitrogen_bar"])
    assert check.verdict == Verdict.HOLD
    assert "room:gas:none" in keys(check)


@pytest.mark.parametrize("how", ["one short", "one twice over", "one of no list"])
def test_every_question_of_the_list_is_answered(asked, assistant, engineer, how):
    answers = given()
    if how == "one short":
        answers = answers[1:]
    elif how == "one twice over":
        answers = [answers[0], *answers[:-1]]
    else:
        extra = ask(engineer, "Is the kettle off?")
        actions.switch_question(by=engineer, once=uuid4(), question=extra, on=False)
        answers.append(Given(extra, yes=True))
    with pytest.raises(Refused, match="list was changed"):
        actions.make_check(by=assistant, once=uuid4(), answers=answers)
    assert not Check.objects.exists()


@pytest.mark.parametrize("wrong", [{"yes": None}, {"yes": True, "value": 3.0}])
def test_a_yes_or_no_is_answered_with_one(asked, assistant, wrong):
    answers = [Given(one.question, **wrong) if one.question.text == EXITS else one for one in given()]
    with pytest.raises(Refused, match="yes or no"):
        actions.make_check(by=assistant, once=uuid4(), answers=answers)


def test_a_reading_is_no_yes(asked, assistant):
    answers = [Given(one.question, yes=True, note="x") if one.question.reading else one for one in given()]
    with pytest.raises(Refused, match="Give the reading"):
        actions.make_check(by=assistant, once=uuid4(), answers=answers)


def test_an_empty_list_is_no_check(assistant):
    with pytest.raises(Refused, match="no questions yet"):
        actions.make_check(by=assistant, once=uuid4(), answers=[])


def test_posted_twice_it_is_one(asked, assistant):
    once, answers = uuid4(), given()
    first = actions.make_check(by=assistant, once=once, answers=answers)
    assert actions.make_check(by=assistant, once=once, answers=answers) == first
    assert Check.objects.count() == 1
    assert Reading.objects.count() == len(VALUES)


def test_the_same_token_with_other_answers_is_trouble(asked, assistant):
    once = uuid4()
    actions.make_check(by=assistant, once=once, answers=given())
    with pytest.raises(TokenTrouble):
        actions.make_check(by=assistant, once=once, answers=given(no=[CAN]))
    assert Check.objects.get().verdict == Verdict.CLEAR


def test_another_persons_token_is_trouble(asked, assistant, engineer):
    once = uuid4()
    actions.make_check(by=assistant, once=once, answers=given())
    with pytest.raises(TokenTrouble):
        actions.make_check(by=engineer, once=once, answers=given())
    assert Check.objects.count() == 1


def test_a_missing_token_is_trouble(asked, assistant):
    with pytest.raises(TokenTrouble):
        actions.make_check(by=assistant, once=None, answers=given())
    assert not Check.objects.exists()


def test_a_visitor_signs_none(asked, visitor):
    with pytest.raises(NotAllowed):
        make_check(visitor)


def test_its_day_is_the_rooms_day(engineer, assistant, at):
    """At 23:40 UTC on 30 March 2025 it is already the 31st in the room, since that night's change of clocks."""
    with at("2025-03-30T23:40:00+00:00"):
        ask(engineer, EXITS)
        assert make_check(assistant).day == date(2025, 3, 31)


def test_stays_as_it_was_whatever_changes(asked, assistant, engineer, owner):
    from shop.people.models import Room

    check = make_check(assistant, no=[CAN])
    before = (check.concerns, check.plan, check.signed_as, check.room_name, check.verdict)
    can = asked[CAN]
    actions.change_question(
        by=engineer, once=uuid4(), question=can, version=can.version, place="Yard", text="Is the can away?", why="",
        grade_if_no=Grade.HOLD, what_to_do="Take it out.", source="",
    )  # fmt: skip
    assistant.name = "Asta Newname"
    assistant.save()
    Room.objects.update(name="Another Room")
    set_limit("room_c", hold_above=10.0)
    again = Check.objects.get(pk=check.pk)
    assert (again.concerns, again.plan, again.signed_as, again.room_name, again.verdict) == before
    answer = again.answers.get(question=can)
    assert (answer.text, answer.place, answer.grade_if_no) == (CAN, "Door", Grade.CARE)


@pytest.mark.parametrize("model", [Check, Answer])
def test_the_database_refuses_to_change_or_remove_one(asked, assistant, model):
    make_check(assistant)
    table = model._meta.db_table
    for statement in (f"UPDATE {table} SET note = 'x'", f"DELETE FROM {table}"):
        with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
            connection.cursor().execute(statement)
