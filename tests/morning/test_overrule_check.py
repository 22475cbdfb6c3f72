"""An engineer's word against a verdict, with the reason kept."""

from uuid import uuid4

import pytest

from shop.morning import actions
from shop.morning.models import Overruling
from shop.refusal import Changed, NotAllowed, Refused
from tests.makers import moment
from tests.morning.makers import CAN, correct_check, make_check, make_list, overrule, room_in_order


@pytest.fixture
def asked(engineer, at):
    with at("2025-03-03 08:05"):
        room_in_order(engineer)
        yield make_list(engineer)


def test_keeps_who_when_and_why(asked, engineer, assistant):
    check = make_check(assistant, no=[CAN])
    word = overrule(engineer, check, "  The can is outside already. ")
    assert (word.of, word.by, word.signed_as) == (check, engineer, "Edvin Maarsk")
    assert (word.at, word.reason) == (moment("2025-03-03 08:05"), "The can is outside already.")
    check.refresh_from_db()
    assert check.is_overruled
    assert check.verdict == "care"


def test_needs_a_reason(asked, engineer, assistant):
    with pytest.raises(Refused, match="Give the reason") as no:
        overrule(engineer, make_check(assistant, no=[CAN]), " ")
    assert no.value.field == "reason"


def test_a_clear_verdict_has_nothing_to_overrule(asked, engineer, assistant):
    with pytest.raises(Refused, match="already clear"):
        overrule(engineer, make_check(assistant))


def test_is_refused_once_the_day_is_over(asked, engineer, assistant, at):
    check = make_check(assistant, no=[CAN])
    with at("2025-03-04 08:00"), pytest.raises(Refused, match="day of that check is over"):
        overrule(engineer, check)


def test_is_refused_for_a_corrected_check(asked, engineer, assistant):
    check = make_check(assistant, no=[CAN])
    correct_check(assistant, check, no=[CAN])
    with pytest.raises(Changed, match="corrected meanwhile"):
        overrule(engineer, check)


def test_is_kept_once(asked, engineer, owner, assistant):
    check = make_check(assistant, no=[CAN])
    once = uuid4()
    first = actions.overrule_check(by=engineer, once=once, check=check, reason="Known.")
    assert actions.overrule_check(by=engineer, once=once, check=check, reason="Known.") == first
    with pytest.raises(Changed, match="overruled already"):
        overrule(owner, check)
    assert Overruling.objects.count() == 1


def test_is_for_engineers(asked, assistant):
    with pytest.raises(NotAllowed):
        overrule(assistant, make_check(assistant, no=[CAN]))
