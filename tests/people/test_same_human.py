"""Two accounts of one human: marked by owners, pointed out where name or mail are alike."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.people import actions
from shop.people.concerns import concerns
from shop.people.models import Person, Role, ToldApart
from shop.people.queries import same_human
from shop.refusal import NotAllowed, Refused
from tests.makers import make_person


def settle(by, one, two, same):
    actions.settle_same(by=by, once=uuid4(), person=one, other=two, same=same)
    for person in (one, two):
        person.refresh_from_db()


@pytest.fixture
def twin(room_row):
    return make_person("asta2", "asta  PELLOW", Role.ENGINEER)


def test_marked_they_are_one_whichever_is_named_first(owner, assistant, twin):
    assert not same_human(assistant, twin)
    settle(owner, twin, assistant, True)
    assert same_human(assistant, twin)
    assert same_human(twin, assistant)
    assert not same_human(assistant, owner)


def test_three_and_more_are_one_in_whatever_order_they_are_marked(owner, assistant, twin):
    third, fourth = (make_person(f"asta{n}", "A. Pellow", Role.VISITOR) for n in (3, 4))
    settle(owner, fourth, third, True)
    settle(owner, twin, assistant, True)
    settle(owner, fourth, twin, True)
    everyone = list(Person.objects.exclude(pk=owner.pk))
    assert len({person.human for person in everyone}) == 1
    settle(owner, assistant, twin, False)  # the one that stood for all leaves
    rest = [Person.objects.get(pk=person.pk) for person in (twin, third, fourth)]
    assert len({person.human for person in rest}) == 1
    assistant.refresh_from_db()
    assert assistant.human == assistant.pk
    assert not same_human(assistant, rest[0])


def test_an_account_is_not_the_same_as_itself(owner, assistant):
    with pytest.raises(Refused) as no:
        settle(owner, assistant, assistant, True)
    assert no.value.field == "other"


@pytest.mark.parametrize("role", ["engineer", "assistant", "visitor"])
def test_only_owners_say_so(role, request, owner, twin):
    person = request.getfixturevalue(role)
    with pytest.raises(NotAllowed):
        settle(person, person, twin, False)


def worries():
    return [worry for worry in concerns(clock.now()) if worry.key.startswith("people:alike")]


def test_alike_in_name_is_pointed_out_until_an_owner_has_said(owner, assistant, engineer, twin):
    (worry,) = worries()
    assert "“pellow” and “asta2”" in worry.headline
    assert worry.link == f"/people/{assistant.pk}/same/?other={twin.pk}"
    settle(owner, twin, assistant, False)
    assert worries() == []
    assert ToldApart.objects.count() == 1
    settle(owner, twin, assistant, True)
    assert worries() == []
    assert not ToldApart.objects.exists()


def test_alike_in_mail_is_pointed_out_too_and_no_mail_is_like_no_other(owner, assistant, engineer):
    assert worries() == []
    for person, email in ((owner, "desk@Saltmere.example"), (assistant, "Desk@saltmere.example")):
        person.email = email
        person.save(update_fields=["email"])
    (worry,) = worries()
    assert worry.reason == "They have the same mail address."


def test_somebody_switched_off_is_not_pointed_out(assistant, twin):
    Person.objects.filter(pk=twin.pk).update(is_active=False)
    assert worries() == []


def test_that_there_is_nothing_to_say_comes_along_with_whoever_looks(owner, assistant, client_of):
    """Today's page has no query to spare."""
    browser = client_of(owner)
    with CaptureQueriesContext(connection) as counted:
        browser.get("/")
    asked = [query["sql"] for query in counted if "people_toldapart" in query["sql"]]
    assert len(asked) == 1
    assert 'AS "room_told"' in asked[0]
    make_person("asta2", "Asta Pellow", Role.ENGINEER)
    assert "“pellow” and “asta2” may be one human" in browser.get("/").content.decode()


def test_the_page_says_whose_it_is_and_what_is_alike(owner, assistant, twin, client_of):
    client = client_of(owner)
    address = f"/people/{assistant.pk}/same/?other={twin.pk}"
    page = client.get(address).content.decode()
    assert "“asta2” (asta  PELLOW) has the same name or mail address." in page
    assert f'<option value="{twin.pk}" selected>' in page
    assert client.post(address, {"once": str(uuid4()), "other": twin.pk}).status_code == 422
    typed = {"once": str(uuid4()), "other": twin.pk, "same": "yes"}
    assert client.post(address, typed).status_code == 302
    assert client.post(address, typed).status_code == 302
    assert "The same human has “pellow” too." in client.get(f"/people/{twin.pk}/").content.decode()


def test_an_address_with_nonsense_in_it_opens_all_the_same(owner, assistant, client_of):
    for other in ("x", "²", "9" * 30, "-1"):
        assert client_of(owner).get(f"/people/{assistant.pk}/same/", {"other": other}).status_code == 200
