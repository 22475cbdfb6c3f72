"""Who may come in, in which role; changed by owners only, and never without an owner left."""

from collections.abc import Callable
from uuid import UUID, uuid4

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.people import actions
from shop.people.models import Person, Role, Room
from shop.refusal import Changed, NotAllowed, Refused
from tests.makers import PASSWORD, make_person, together

ClientOf = Callable[[Person], Client]
NEW = "four warm words in wax"


def add(by: Person, once: UUID | None = None, **other: str) -> Person:
    typed = {"name": "Ilse Brandt-Okoro", "sign_in": "ilse", "role": "assistant", "password": NEW} | other
    return actions.add_person(by=by, once=once or uuid4(), **typed)


def change(by: Person, whom: Person, **other: object) -> Person:
    whom.refresh_from_db()
    kept = {"version": whom.version, "name": whom.name, "role": whom.role, "is_active": whom.is_active}
    return actions.change_person(by=by, once=uuid4(), person=whom, **kept | other)


def test_adds_a_person_with_the_rooms_units(owner: Person, room_row: Room) -> None:
    Room.objects.update(pressure_unit="psi")
    added = add(owner)
    added.refresh_from_db()
    assert (added.name, added.role, added.pressure_unit) == ("Ilse Brandt-Okoro", Role.ASSISTANT, "psi")
    assert added.check_password(NEW)


def test_pressing_twice_adds_one(owner: Person) -> None:
    once = uuid4()
    assert add(owner, once) == add(owner, once)
    assert Person.objects.filter(sign_in="ilse").count() == 1


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"sign_in": "TINDRUM"}, "sign_in"),
        ({"sign_in": "two words"}, "sign_in"),
        ({"sign_in": ""}, "sign_in"),
        ({"password": "too short"}, "password"),
        ({"password": "yfdbufnjh10305070"}, "password"),  # long, and on Django's list of common ones
        ({"password": "passwordpassword"}, "password"),
        ({"password": "Password password"}, "password"),
        ({"password": "123456789012345"}, "password"),
        ({"password": "qwertyuiopasdfgh"}, "password"),
        ({"password": "zyxwvutsrq-9876543"}, "password"),
        ({"password": "1121121211212111"}, "password"),
        ({"password": "ilse brandt-okoro"}, "password"),
    ],
)
def test_refuses_a_taken_name_and_a_poor_password(owner: Person, typed: dict[str, str], field: str) -> None:
    with pytest.raises(Refused) as no:
        add(owner, **typed)
    assert no.value.field == field
    assert Person.objects.count() == 1


@pytest.mark.parametrize("role", ["engineer", "assistant", "visitor"])
def test_only_owners_change_people(role: str, request: pytest.FixtureRequest, owner: Person) -> None:
    person = request.getfixturevalue(role)
    with pytest.raises(NotAllowed):
        add(person)
    with pytest.raises(NotAllowed):
        change(person, owner, role="visitor")
    with pytest.raises(NotAllowed):
        actions.set_password(by=person, once=uuid4(), person=owner, password=NEW)


def test_a_role_is_changed(owner: Person, assistant: Person) -> None:
    assert change(owner, assistant, role="engineer", name="Asta Pellow-Finch").role == Role.ENGINEER
    assistant.refresh_from_db()
    assert (assistant.name, assistant.version) == ("Asta Pellow-Finch", 2)


def test_a_stale_change_is_refused(owner: Person, assistant: Person) -> None:
    change(owner, assistant, role="engineer")
    with pytest.raises(Changed):
        change(owner, assistant, version=1, role="visitor")
    assistant.refresh_from_db()
    assert assistant.role == Role.ENGINEER


@pytest.mark.parametrize(("typed", "field"), [({"role": "engineer"}, "role"), ({"is_active": False}, "is_active")])
def test_the_last_owner_stays(owner: Person, typed: dict[str, object], field: str) -> None:
    make_person("gone", "Old Owner", Role.OWNER, is_active=False)
    with pytest.raises(Refused) as no:
        change(owner, owner, **typed)
    assert no.value.field == field
    owner.refresh_from_db()
    assert owner.is_owner
    assert owner.is_active


def test_one_of_two_owners_may_go(owner: Person) -> None:
    other = make_person("other", "Other Owner", Role.OWNER)
    assert not change(other, owner, is_active=False).is_active


@pytest.mark.django_db(transaction=True)
def test_two_owners_demoting_each_other_leave_one(owner: Person) -> None:
    other = make_person("other", "Other Owner", Role.OWNER)
    outcomes = together(
        lambda: change(owner, other, role="engineer"),
        lambda: change(other, owner, role="engineer"),
    )
    assert [type(o) for o in outcomes].count(Person) == 1
    assert Person.objects.filter(role=Role.OWNER, is_active=True).count() == 1


def test_switching_off_ends_sessions_for_good(owner: Person, assistant: Person, client_of: ClientOf) -> None:
    hers, his = client_of(assistant), client_of(owner)
    change(owner, assistant, is_active=False)
    assert hers.get("/people/settings/").status_code == 302
    change(owner, assistant, is_active=True)
    assert hers.get("/people/settings/").status_code == 302  # she signs in anew
    assert his.get("/people/settings/").status_code == 200
    assert Session.objects.count() == 1


def test_a_forgotten_password_is_set_anew(owner: Person, assistant: Person, client_of: ClientOf) -> None:
    client = client_of(assistant)
    actions.set_password(by=owner, once=uuid4(), person=assistant, password=NEW)
    assistant.refresh_from_db()
    assert assistant.check_password(NEW)
    assert client.get("/people/settings/").status_code == 302


def test_one_changes_ones_own_password(visitor: Person, client_of: ClientOf) -> None:
    here, elsewhere = client_of(visitor), client_of(visitor)
    address = "/people/password/"
    wrong = here.post(address, {"once": str(uuid4()), "old_password": "not it", "password": NEW})
    assert wrong.status_code == 422
    assert "That is not your password now." in wrong.content.decode()
    short = here.post(address, {"once": str(uuid4()), "old_password": PASSWORD, "password": "short"})
    assert "at least 15 characters" in short.content.decode()
    assert NEW not in short.content.decode()
    right = here.post(address, {"once": str(uuid4()), "old_password": PASSWORD, "password": NEW})
    assert right["Location"] == "/people/settings/"
    assert here.get("/people/settings/").status_code == 200
    assert elsewhere.get("/people/settings/").status_code == 302


# The pages ------------------------------------------------------------------------------------------------------------

OWNERS_PAGES = ("/people/add/", "/people/{pk}/", "/people/{pk}/password/", "/people/room/")


@pytest.mark.parametrize("address", OWNERS_PAGES)
def test_pages_of_owners(address: str, owner: Person, engineer: Person, client: Client, client_of: ClientOf) -> None:
    address = address.format(pk=engineer.pk)
    assert client_of(owner).get(address).status_code == 200
    assert client_of(engineer).get(address).status_code == 403
    assert client_of(engineer).post(address, {"once": str(uuid4())}).status_code == 403
    assert client.get(address)["Location"].startswith("/people/sign-in/")
    assert client_of(owner).delete(address).status_code == 405


def test_page_adds_a_person(owner: Person, client_of: ClientOf) -> None:
    typed = {"once": str(uuid4()), "name": "Ilse <i>B</i>", "sign_in": "ilse", "role": "assistant", "password": NEW}
    client = client_of(owner)
    for _ in range(2):  # the back button, and a second press
        page = client.post("/people/add/", typed, follow=True).content.decode()
        assert "Ilse &lt;i&gt;B&lt;/i&gt; may sign in now" in page
    assert Person.objects.filter(sign_in="ilse").count() == 1


def test_page_says_no_at_the_field_and_keeps_what_was_typed(owner: Person, client_of: ClientOf) -> None:
    typed = {"once": str(uuid4()), "name": "Ilse", "sign_in": "tindrum", "role": "assistant", "password": NEW}
    answer = client_of(owner).post("/people/add/", typed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert '<a href="#id_sign_in">Sign-in name: Somebody here has that sign-in name already.' in page
    assert 'aria-describedby="id_sign_in_error"' in page
    assert 'value="Ilse"' in page
    assert NEW not in page


def test_page_shows_both_when_somebody_was_faster(owner: Person, assistant: Person, client_of: ClientOf) -> None:
    client = client_of(owner)
    address = f"/people/{assistant.pk}/"
    typed = {"once": str(uuid4()), "version": "1", "name": "Asta P.", "role": "assistant", "is_active": "on"}
    change(owner, assistant, role="engineer")
    page = client.post(address, typed).content.decode()
    assert "What is saved now" in page
    assert "<dt>Role</dt><dd>Engineer</dd>" in page
    assert 'value="Asta P."' in page
    assert 'name="version" value="2"' in page
    assert client.post(address, typed | {"version": "2"})["Location"] == "/people/"
    assistant.refresh_from_db()
    assert (assistant.name, assistant.role) == ("Asta P.", Role.ASSISTANT)


def test_list_is_read_by_all_and_leads_owners_on(owner: Person, visitor: Person, client_of: ClientOf) -> None:
    to_change = f'href="/people/{visitor.pk}/"'
    assert to_change in client_of(owner).get("/people/").content.decode()
    seen = client_of(visitor).get("/people/").content.decode()
    assert "Orla Tindrum" in seen
    assert to_change not in seen
    assert "/people/add/" not in seen


def test_list_asks_as_much_of_many_as_of_few(owner: Person, client_of: ClientOf) -> None:
    client = client_of(owner)
    client.get("/people/")
    with CaptureQueriesContext(
        connection,
    ) as few:
        client.get("/people/")
    for i in range(40):
        make_person(f"p{i}", f"Person {i}", Role.VISITOR)
    with CaptureQueriesContext(connection) as many:
        page = client.get("/people/").content.decode()
    assert len(many) == len(few) <= 6
    assert "Page 1 of 2" in page


def test_unknown_person(owner: Person, client_of: ClientOf) -> None:
    assert client_of(owner).get("/people/99999/").status_code == 404


ADDRESSES = ["pim@tindrum.example\r\nBcc: all@tindrum.example", "pim@tindrum.example\n", "a\nb@tindrum.example", "pim"]


@pytest.mark.parametrize("email", [*ADDRESSES, f"{'x' * 60}@{'y' * 60}.{'z' * 200}.example"])
def test_an_address_that_is_none_or_of_several_lines_is_refused(owner: Person, assistant: Person, email: str) -> None:
    """What stands after a line break in a mail's head would be a head of its own."""
    with pytest.raises(Refused, match=r"mail address|254") as no:
        add(owner, email=email)
    assert no.value.field == "email"
    with pytest.raises(Refused) as no:
        change(owner, assistant, email=email)
    assert no.value.field == "email"
    assert not Person.objects.exclude(email="").exists()


@pytest.mark.parametrize("email", ADDRESSES)
def test_the_pages_take_no_such_address_either(
    owner: Person, assistant: Person, client_of: ClientOf, email: str
) -> None:
    """A browser's own box drops a line break at the end; one within is said at the field."""
    typed = {"once": str(uuid4()), "name": "Ilse", "sign_in": "ilse", "role": "assistant", "password": NEW}
    answer = client_of(owner).post("/people/add/", typed | {"email": email})
    if email.endswith("\n"):
        assert Person.objects.get(sign_in="ilse").email == email.strip()
    else:
        assert answer.status_code == 422
        assert "email" in answer.context["form"].errors
        assert not Person.objects.exclude(email="").exists()


def test_an_address_is_kept_without_the_spaces_around_it(owner: Person) -> None:
    assert add(owner, email=" ilse@tindrum.example ").email == "ilse@tindrum.example"
