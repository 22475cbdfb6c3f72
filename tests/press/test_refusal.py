import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from shop.press.middleware import RefusalMiddleware
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


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("no", "status", "headline"),
    [
        (NotAllowed("Ask the owner."), 403, "Not for your role"),
        (TokenTrouble("Used before."), 409, "Not saved a second time"),
        (Refused("It would not fit."), 422, "Not saved"),
    ],
)
def test_a_refusal_no_form_caught_becomes_a_page(client, monkeypatch, no, status, headline):
    request = RequestFactory().get("/")
    page = RefusalMiddleware(lambda request: HttpResponse()).process_exception(request, no)
    assert page.status_code == status
    assert headline in page.content.decode()
    assert no.sentence in page.content.decode()


def test_other_faults_are_left_alone():
    middleware = RefusalMiddleware(lambda request: HttpResponse("through"))
    assert middleware.process_exception(RequestFactory().get("/"), KeyError("x")) is None
    assert middleware(RequestFactory().get("/")).content == b"through"
