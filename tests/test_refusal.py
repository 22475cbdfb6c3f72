import pytest

from shop.refusal import (
    Changed,
    Doubt,
    Doubtful,
    NotAllowed,
    NotEnough,
    Refused,
    TokenTrouble,
    ask_unless_sure,
)

LOW = Doubt("low", "pressure", "That is low.")
HOT = Doubt("hot", "temperature", "That is hot.")


@pytest.mark.parametrize(
    ("kind", "status"),
    [(Refused, 422), (NotEnough, 409), (NotAllowed, 403), (TokenTrouble, 409), (Changed, 409)],
)
def test_each_kind_carries_its_sentence_field_and_status(kind, status):
    no = kind("No, because.", field="quantity")
    assert (str(no), no.sentence, no.field, no.status) == ("No, because.", "No, because.", "quantity", status)
    assert isinstance(no, Refused)


def test_doubts_nobody_confirmed_are_asked_about():
    with pytest.raises(Doubtful) as asked:
        ask_unless_sure([LOW, HOT], ["hot"])
    assert asked.value.doubts == (LOW,)
    assert asked.value.sentence == "That is low."


def test_confirmed_doubts_and_none_pass():
    ask_unless_sure([LOW, HOT], ["hot", "low", "something else"])
    ask_unless_sure([], [])
