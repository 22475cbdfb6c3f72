"""A refusal that no form caught becomes a page of its own; so does a fault of the server."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from shop.press.middleware import RefusalMiddleware
from shop.refusal import NotAllowed, Refused, TokenTrouble


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
