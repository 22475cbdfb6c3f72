"""Why something was given, signed, withdrawn or ended: for owner and engineers, and for whom it is about."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.training import actions
from tests.makers import make_person
from tests.training.makers import enrol, give, make_act, make_programme, sign, step_of

GIVEN, TAKEN = "Held the torch well.", "Left a tap open."
NOTED, WITHDRAWN, ENDED = "Shook a little.", "The exits were walked in the dark.", "Went back to school."


@pytest.fixture
def act(owner, engineer, assistant):
    """An act with an authority that holds and one that was taken back, both the assistant's."""
    made = make_act(owner)
    taken = give(owner, made, assistant, note=GIVEN)
    give(owner, made, assistant, note=GIVEN)
    actions.withdraw_authority(by=engineer, once=uuid4(), authority=taken, why=TAKEN)
    return made


@pytest.fixture
def course(owner, engineer, assistant):
    """A way through a programme that ended, with a sign-off that was withdrawn, the assistant's."""
    programme = make_programme("watch:Walk the exits")
    made = enrol(owner, programme, assistant)
    signed = sign(engineer, step_of(programme, "Walk the exits"), assistant, note=NOTED)
    actions.withdraw_sign_off(by=engineer, once=uuid4(), sign_off=signed, why=WITHDRAWN)
    actions.end_enrolment(by=owner, once=uuid4(), enrolment=made, version=made.version, why=ENDED)
    return made


@pytest.fixture
def colleague(db):
    return make_person("colleague", "Coll Eague", "assistant")


def body(answer):
    assert answer.status_code == 200
    return b"".join(answer.streaming_content).decode() if answer.streaming else answer.content.decode()


def test_a_visitor_reads_no_reason_of_an_authority_and_is_not_told_to_do_it(act, visitor, assistant, client_of):
    page = body(client_of(visitor).get(act.get_absolute_url()))
    assert GIVEN not in page
    assert TAKEN not in page
    assert "Taken back" not in page
    assert "under the eye of" not in page
    assert "It is for those who work here" in page
    assert assistant.name in page
    assert "carry/authorities" not in body(client_of(visitor).get(reverse("training:acts")))
    assert client_of(visitor).get("/carry/authorities.csv").status_code == 403


def test_a_colleague_reads_that_it_was_taken_back_and_not_why(act, colleague, client_of):
    page = body(client_of(colleague).get(act.get_absolute_url()))
    assert "Taken back" in page
    assert GIVEN not in page
    assert TAKEN not in page
    carried = body(client_of(colleague).get("/carry/authorities.csv"))
    assert act.name in carried
    assert GIVEN not in carried
    assert TAKEN not in carried


def test_an_engineer_and_whom_it_is_about_read_why(act, engineer, assistant, client_of):
    for reader in (engineer, assistant):
        page = body(client_of(reader).get(act.get_absolute_url()))
        assert GIVEN in page
        assert TAKEN in page
    carried = body(client_of(engineer).get("/carry/authorities.csv"))
    assert GIVEN in carried
    assert TAKEN in carried


def pages(course):
    step = course.programme.steps.get()
    return [course.get_absolute_url(), reverse("training:card", args=[course.pk, step.pk])]


def test_a_colleague_sees_how_far_somebody_is_and_no_note_or_reason(course, assistant, colleague, client_of):
    client = client_of(colleague)
    shown = "".join(body(client.get(path)) for path in pages(course))
    assert assistant.name in shown
    assert "Withdrawn on" in shown
    carried = body(client.get("/carry/enrolments.csv"))
    assert assistant.name in carried
    for said in (NOTED, WITHDRAWN, ENDED):
        assert said not in shown + carried
    assert client.get("/carry/sign-offs.csv").status_code == 403
    assert "carry/sign-offs" not in body(client.get(reverse("training:board")))


def test_an_engineer_and_whom_it_is_about_read_them_all(course, engineer, assistant, client_of):
    for reader in (engineer, assistant):
        shown = "".join(body(client_of(reader).get(path)) for path in pages(course))
        assert [said for said in (NOTED, WITHDRAWN, ENDED) if said not in shown] == []
    client = client_of(engineer)
    carried = body(client.get("/carry/sign-offs.csv")) + body(client.get("/carry/enrolments.csv"))
    assert [said for said in (NOTED, WITHDRAWN, ENDED) if said not in carried] == []
    assert "carry/sign-offs" in body(client.get(reverse("training:board")))
