"""The room's own list: adding, changing, leaving out, moving."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from shop.concern import Grade
from shop.morning import actions, queries
from shop.morning.models import AnswerKind, Question
from shop.refusal import Changed, NotAllowed, Refused
from shop.room.models import ReadingKind
from tests.morning.makers import CAN, EXITS, LAMP, ask, ask_reading


@pytest.fixture
def three(engineer):
    return [ask(engineer, text) for text in (EXITS, CAN, LAMP)]


def texts():
    return [question.text for question in queries.questions()]


def move(by, question, up):
    return actions.move_question(by=by, once=uuid4(), question=question, up=up)


def switch(by, question, on):
    return actions.switch_question(by=by, once=uuid4(), question=question, on=on)


def change(by, question, version=None, **other):
    words = {name: getattr(question, name) for name in ("place", "text", "why", "grade_if_no", "what_to_do", "source")}
    return actions.change_question(
        by=by, once=uuid4(), question=question, version=version or question.version, **words | other
    )


def test_a_new_one_comes_last(three):
    assert texts() == [EXITS, CAN, LAMP]


def test_a_reading_names_what_is_read(engineer):
    with pytest.raises(Refused, match="Choose what is read") as no:
        ask(engineer, "Gauge", kind=AnswerKind.READING)
    assert no.value.field == "reading"


def test_a_yes_or_no_reads_nothing(engineer):
    assert ask(engineer, EXITS, reading=ReadingKind.ROOM_C).reading == ""


def test_a_reading_is_asked_once(engineer):
    first = ask_reading(engineer, ReadingKind.ROOM_C)
    with pytest.raises(Refused, match="asks for that reading already"):
        ask_reading(engineer, ReadingKind.ROOM_C)
    switch(engineer, first, False)
    second = ask_reading(engineer, ReadingKind.ROOM_C)
    with pytest.raises(Refused, match="asks for that reading already"):
        switch(engineer, first, True)
    with pytest.raises(IntegrityError), transaction.atomic():
        Question.objects.filter(pk=first.pk).update(is_active=True)
    assert second.is_active


def test_changed_words_hold_from_now_on(engineer, three):
    changed = change(engineer, three[0], text="Are both doors clear?", grade_if_no=Grade.HOLD)
    assert (changed.text, changed.grade_if_no, changed.version) == ("Are both doors clear?", Grade.HOLD, 2)


def test_a_stale_change_is_told(engineer, owner, three):
    change(owner, three[0], text="Are both doors clear?")
    with pytest.raises(Changed, match="changed this while your form was open"):
        change(engineer, three[0], version=1, text="Is the door clear?")
    assert Question.objects.get(pk=three[0].pk).text == "Are both doors clear?"


def test_left_out_and_asked_again(engineer, three):
    switch(engineer, three[1], False)
    assert texts() == [EXITS, LAMP]
    switch(engineer, three[1], True)
    assert texts() == [EXITS, CAN, LAMP]


def test_moves_up_and_down_and_stays_at_the_ends(engineer, three):
    move(engineer, three[2], True)
    assert texts() == [EXITS, LAMP, CAN]
    move(engineer, three[0], False)
    assert texts() == [LAMP, EXITS, CAN]
    move(engineer, three[2], True)
    assert texts() == [LAMP, EXITS, CAN]
    move(engineer, three[1], False)
    assert texts() == [LAMP, EXITS, CAN]


def test_moving_twice_with_one_token_moves_once(engineer, three):
    once = uuid4()
    for _ in range(2):
        actions.move_question(by=engineer, once=once, question=three[2], up=True)
    assert texts() == [EXITS, LAMP, CAN]


@pytest.mark.parametrize("act", [move, switch])
def test_the_list_is_for_engineers(assistant, three, act):
    with pytest.raises(NotAllowed):
        act(assistant, three[1], False)


def test_an_assistant_words_nothing(assistant, three):
    with pytest.raises(NotAllowed):
        change(assistant, three[0], text="x")
    with pytest.raises(NotAllowed):
        ask(assistant, "x")
