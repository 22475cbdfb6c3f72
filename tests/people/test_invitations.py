"""An invitation lets one person in, once and for a time; of its link only a digest is kept."""

import re
from uuid import uuid4

import pytest
from django.core import mail
from django.test import Client

from shop.people import actions
from shop.people.actions.invitations import NotGood
from shop.people.models import HowIn, Invitation, Person, Role, Room, SignIn
from shop.people.secrets import new_secret
from shop.press.models import Line, Press
from shop.refusal import NotAllowed, Refused
from tests.makers import PASSWORD, together
from tests.people.makers import make_invitation

NEW = "four warm words in wax"
TYPED = {"sign_in": "ilse", "password": NEW}


def link_of(page: str) -> str:
    found = re.search(r"http://testserver(/people/invitation/[\w-]+/)", page)
    assert found, page
    return found[1]


@pytest.fixture
def link(owner, client_of):
    """The link an owner was shown."""
    typed = {"once": str(uuid4()), "name": "Ilse Brandt-Okoro", "role": "engineer", "email": ""}
    return link_of(client_of(owner).post("/people/invite/", typed).content.decode())


def test_the_invited_come_in_with_a_name_and_password_of_their_own(owner, link, room_row):
    Room.objects.update(pressure_unit="psi")
    browser = Client()
    page = browser.get(link).content.decode()
    assert "Welcome, Ilse Brandt-Okoro" in page
    answer = browser.post(link, TYPED)
    assert answer["Location"] == "/"
    assert "From now on you sign in as “ilse”" in browser.get("/people/more/").content.decode()
    ilse = Person.objects.get(sign_in="ilse")
    assert (ilse.name, ilse.role, ilse.pressure_unit) == ("Ilse Brandt-Okoro", Role.ENGINEER, "psi")
    assert ilse.check_password(NEW)
    assert SignIn.objects.get(person=ilse).how == HowIn.INVITATION
    line = Line.objects.get(act="people.accept_invitation")
    assert (line.by, line.thing) == (ilse, f"person {ilse.pk}: Ilse Brandt-Okoro")


def test_the_link_has_256_bits_and_is_not_kept(owner, link):
    secret = link.split("/")[-2]
    assert len(secret) == 43
    assert len({new_secret() for _ in range(100)}) == 100
    kept = [*Invitation.objects.values_list(), *Line.objects.values_list(), *Press.objects.values_list()]
    assert secret not in str(kept)


def test_used_twice_it_says_so(link):
    assert Client().post(link, TYPED).status_code == 302
    for answer in (Client().get(link), Client().post(link, {"sign_in": "ilse-b", "password": NEW})):
        assert answer.status_code == 410
        page = answer.content.decode()
        assert "This invitation was used already. If that was you, sign in" in page
        assert "This link lets nobody in" in page
        assert "Not saved" not in page
    assert Person.objects.filter(sign_in__startswith="ilse").count() == 1


def test_over_its_time_it_says_so(owner, at, room_row):
    Room.objects.update(invitation_hours=2)
    with at("2025-03-03 08:00"):
        make_invitation(owner, secret="x" * 43)
    with at("2025-03-03 09:59"):
        assert Client().get(f"/people/invitation/{'x' * 43}/").status_code == 200
    with at("2025-03-03 10:00"):
        answer = Client().post(f"/people/invitation/{'x' * 43}/", TYPED)
    assert answer.status_code == 410
    assert "The time of this invitation is over." in answer.content.decode()
    assert not Person.objects.filter(sign_in="ilse").exists()


def test_withdrawn_it_says_so(owner, link):
    actions.withdraw_invitation(by=owner, once=uuid4(), invitation=Invitation.objects.get())
    answer = Client().post(link, TYPED)
    assert answer.status_code == 410
    assert "This invitation was withdrawn." in answer.content.decode()
    with pytest.raises(Refused, match="withdrawn already"):
        actions.withdraw_invitation(by=owner, once=uuid4(), invitation=Invitation.objects.get())


def test_a_link_cut_short_says_so(link):
    answer = Client().get(link[:-5] + "/")
    assert answer.status_code == 410
    assert "copy all of it" in answer.content.decode()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"sign_in": "tindrum"}, "Somebody here has that sign-in name already."),
        ({"password": "too short"}, "at least 15 characters"),
        ({"password": ""}, "Fill this in."),
        ({"sign_in": "two words"}, "no blanks"),
    ],
)
def test_what_will_not_do_is_refused_and_the_link_stays_good(link, typed, words):
    answer = Client().post(link, TYPED | typed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert NEW not in answer.content.decode()
    assert Client().post(link, TYPED).status_code == 302


def test_whoever_is_signed_in_is_told_to_sign_out_first(link, assistant, client_of):
    page = client_of(assistant).get(link)
    assert "You are signed in as Asta Pellow. Sign out first" in page.content.decode()
    assert client_of(assistant).post(link, TYPED).status_code == 422
    assert Client().get(link).status_code == 200


@pytest.mark.django_db(transaction=True)
def test_two_who_use_it_at_once_are_one(owner):
    make_invitation(owner, secret="y" * 43)

    def use(sign_in):
        return actions.accept_invitation(secret="y" * 43, sign_in=sign_in, password=NEW)

    outcomes = together(*[lambda n=n: use(f"ilse{n}") for n in range(4)])
    assert sorted(type(outcome) for outcome in outcomes if isinstance(outcome, Person)) == [Person]
    assert sum(isinstance(outcome, NotGood) for outcome in outcomes) == 3
    assert Person.objects.filter(sign_in__startswith="ilse").count() == 1


@pytest.mark.parametrize("role", ["engineer", "assistant", "visitor"])
def test_only_owners_invite(role, request, owner):
    person = request.getfixturevalue(role)
    invited = make_invitation(owner)
    with pytest.raises(NotAllowed):
        make_invitation(person)
    with pytest.raises(NotAllowed):
        actions.withdraw_invitation(by=person, once=uuid4(), invitation=invited)


def test_pressing_twice_makes_one_and_shows_no_link_that_is_not_good(owner, client_of):
    typed = {"once": str(uuid4()), "name": "Ilse", "role": "assistant", "email": ""}
    client = client_of(owner)
    first = client.post("/people/invite/", typed)
    again = client.post("/people/invite/", typed, follow=True)
    assert again.redirect_chain == [("/people/", 302)]
    assert "Ilse was invited already, and the link was shown once." in again.content.decode()
    assert "/people/invitation/" not in again.content.decode()
    assert Invitation.objects.count() == 1
    assert Client().get(link_of(first.content.decode())).status_code == 200


# By mail --------------------------------------------------------------------------------------------------------------


def invite_by_mail(client):
    typed = {"once": str(uuid4()), "name": "Ilse", "role": "assistant", "email": "ilse@saltmere.example"}
    return client.post("/people/invite/", typed).content.decode()


def test_it_is_sent_where_a_mail_address_is_given(owner, client_of):
    page = invite_by_mail(client_of(owner))
    assert "It was sent to ilse@saltmere.example as well." in page
    (letter,) = mail.outbox
    assert letter.to == ["ilse@saltmere.example"]
    assert link_of(page) in letter.body
    assert "(Europe/Lisbon)" in letter.body
    assert Client().post(link_of(letter.body), TYPED).status_code == 302
    assert Person.objects.get(sign_in="ilse").email == "ilse@saltmere.example"


def test_a_mail_server_that_fails_leaves_the_link_to_be_handed_over(owner, client_of, monkeypatch):
    def fails(*_, **__):
        raise ConnectionRefusedError

    monkeypatch.setattr("shop.people.mailing.send_mail", fails)
    page = invite_by_mail(client_of(owner))
    assert "The mail to ilse@saltmere.example could not be sent: hand the link over yourself." in page
    assert Client().get(link_of(page)).status_code == 200


def test_without_a_mail_server_it_says_so(owner, client_of, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    assert "No mail server is set up here" in invite_by_mail(client_of(owner))


# Pages ----------------------------------------------------------------------------------------------------------------


def test_owners_see_who_is_invited_and_withdraw_it(owner, assistant, client_of, link):
    assert "Ilse Brandt-Okoro" not in client_of(assistant).get("/people/").content.decode()
    client = client_of(owner)
    assert "Ilse Brandt-Okoro" in client.get("/people/").content.decode()
    address = f"/people/invitations/{Invitation.objects.get().pk}/withdraw/"
    done = client.post(address, {"once": str(uuid4())}, follow=True).content.decode()
    assert "The invitation of Ilse Brandt-Okoro is withdrawn." in done
    assert "Withdraw it" not in client.get(address).content.decode()
    assert client.get("/people/").content.decode().count("Ilse Brandt-Okoro") == 0


def test_a_used_one_cannot_be_withdrawn(owner, link):
    Client().post(link, TYPED)
    with pytest.raises(Refused, match="has used it already"):
        actions.withdraw_invitation(by=owner, once=uuid4(), invitation=Invitation.objects.get())


def test_the_first_password_given_by_an_owner_still_works_too(owner, client):
    actions.add_person(by=owner, once=uuid4(), name="Zeb", sign_in="zeb", role="visitor", password=PASSWORD)
    assert client.post("/people/sign-in/", {"username": "zeb", "password": PASSWORD}).status_code == 302
