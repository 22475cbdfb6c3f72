"""What of going through programmes worries: the same as its pages say."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.people.models import Person
from shop.topic import together
from shop.training import actions, queries
from shop.training.concerns import TOPICS
from shop.training.models import Programme, SelfSigning, Step
from tests.safety import hazard_sheets
from tests.training.makers import answer, enrol, make_programme, make_question, sign, step_of


@pytest.fixture
def programme(db):
    made = make_programme("watch:Exits", "do:Chip", "answer:What burns", "read:Lamp")
    Step.objects.filter(title="Chip").update(times=2, day=2)
    Step.objects.filter(title="Exits").update(day=1)
    Step.objects.filter(title="What burns").update(day=3)
    Step.objects.filter(title="Lamp").update(day=9, sheet="hot-lamp")
    make_question(step_of(made, "What burns"))
    return made


@pytest.fixture
def course(engineer, assistant, programme):
    return enrol(engineer, programme, assistant)


@pytest.fixture
def later(at):
    """`later(days)`: so many days on."""
    today = clock.today()
    return lambda days: at(f"{today + timedelta(days=days)} 09:00")


def worries(about):
    found = [one for one in together(TOPICS, clock.now()) if one.key.startswith(f"training:{about}")]
    assert len({one.key for one in found}) == len(found)
    return found


def behind(course):
    """How many steps are behind by the concern, which must be as many as by the page."""
    told = worries("behind")
    count = len(queries.course_of(course).behind)
    assert [one.headline.partition(": ")[2].split()[0] for one in told] == ([str(count)] if count else [])
    return count


@pytest.mark.parametrize(("days", "count"), [(0, 0), (1, 1), (2, 2), (3, 3), (9, 3), (40, 3)])
def test_who_is_behind_by_how_many_steps(course, later, days, count):
    """A sheet that is not in force makes nobody late."""
    with later(days):
        assert behind(course) == count


def test_what_is_done_in_time_worries_nobody(owner, engineer, assistant, course, programme, later):
    sign(engineer, step_of(programme, "Exits"), assistant)
    for _ in range(2):
        sign(engineer, step_of(programme, "Chip"), assistant)
    answer(assistant, step_of(programme, "What burns").questions.get(), right=True)
    with later(5):
        assert behind(course) == 0
    version = hazard_sheets.make_in_force(engineer, owner)
    with later(12):
        assert behind(course) == 1
        hazard_sheets.read(assistant, version)
        assert behind(course) == 0


def test_a_withdrawn_sign_off_and_one_of_the_same_person_are_none(owner, engineer, assistant, course, programme, later):
    made = sign(engineer, step_of(programme, "Exits"), assistant)
    with later(1):
        assert behind(course) == 0
    actions.withdraw_sign_off(by=engineer, once=uuid4(), sign_off=made, why="No.")
    with later(1):
        assert behind(course) == 1
    sign(owner, step_of(programme, "Exits"), assistant)
    Person.objects.filter(pk=assistant.pk).update(same_as=owner)
    with later(1):
        assert behind(queries.enrolments().get()) == 1


def test_who_waits_for_a_question_to_come_round_is_not_behind(assistant, course, programme, later):
    Step.objects.exclude(title="What burns").update(day=None)
    question = step_of(programme, "What burns").questions.get()
    answer(assistant, question, right=False)
    with later(5):
        assert behind(course) == 1
        answer(assistant, question, right=True)
        assert behind(course) == 0


def test_who_did_it_as_often_as_it_took_then_is_not_behind(engineer, assistant, course, programme, later):
    from shop.training import editions

    chip = step_of(programme, "Chip")
    Step.objects.exclude(pk=chip.pk).update(day=None)
    editions.keep_step(chip, by=None)
    for _ in range(2):
        sign(engineer, chip, assistant)
    Step.objects.filter(pk=chip.pk).update(times=4, edition=2)
    with later(9):
        assert behind(course) == 0


@pytest.mark.parametrize("stop", ["programme", "enrolment", "person"])
def test_what_was_stopped_worries_nobody(engineer, assistant, course, later, stop):
    with later(9):
        if stop == "programme":
            Programme.objects.update(is_active=False)
        elif stop == "person":
            Person.objects.filter(pk=assistant.pk).update(is_active=False)
        else:
            actions.end_enrolment(by=engineer, once=uuid4(), enrolment=course, version=1, why="Away.")
        assert worries("behind") == []


# Refreshers -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("months", [1, 4, 12, 30])
def test_a_refresher_is_told_a_month_ahead_and_once_it_is_due(engineer, assistant, course, programme, later, months):
    exits = step_of(programme, "Exits")
    Step.objects.filter(pk=exits.pk).update(refresh_months=months)
    sign(engineer, exits, assistant)
    due = queries.course_of(course).line_of(exits).standing.due_on
    days = (due - clock.today()).days
    with later(max(0, days - 32)):
        assert worries("refresher") == [] or months == 1
    with later(days - 1):
        assert [one.headline for one in worries("refresher")] == [f"{assistant.name}: 1 step to be done again soon"]
    with later(days):
        assert [one.headline for one in worries("refresher")] == [f"{assistant.name}: 1 step to be done again"]


def test_a_change_of_substance_is_told_until_it_was_done_again(engineer, assistant, course, programme):
    exits = step_of(programme, "Exits")
    sign(engineer, exits, assistant)
    Step.objects.filter(pk=exits.pk).update(edition=2)
    (told,) = worries("refresher")
    assert told.reason == "Exits (it was changed)."
    sign(engineer, exits, assistant)
    assert worries("refresher") == []


def test_a_sheet_to_be_read_again_is_told(owner, engineer, assistant, course, programme, later):
    lamp = step_of(programme, "Lamp")
    Step.objects.filter(pk=lamp.pk).update(refresh_months=6)
    hazard_sheets.read(assistant, hazard_sheets.make_in_force(engineer, owner))
    assert worries("refresher") == []
    with later(200):
        assert worries("refresher")[0].reason.startswith("Lamp (")
        actions.read_again(by=assistant, once=uuid4(), step=Step.objects.get(pk=lamp.pk))
        assert worries("refresher") == []


# Signing for oneself --------------------------------------------------------------------------------------------------


def test_what_the_same_person_signed_is_pointed_out_until_withdrawn(owner, engineer, assistant, course, programme):
    made = sign(engineer, step_of(programme, "Exits"), assistant)
    assert worries("same-person") == []
    Person.objects.filter(pk=assistant.pk).update(same_as=engineer)
    (told,) = worries("same-person")
    assert "It does not count." in told.reason
    actions.withdraw_sign_off(by=owner, once=uuid4(), sign_off=made, why="One person.")
    assert worries("same-person") == []


def test_an_attempt_is_told_for_a_month(engineer, assistant, programme, later):
    actions.note_self_signing(by=engineer, once=uuid4(), step=step_of(programme, "Exits"), person=assistant)
    assert "It was refused." in worries("self-signing")[0].reason
    with later(40):
        assert worries("self-signing") == []
    assert SelfSigning.objects.count() == 1
