"""The second factor: codes that count once, recovery codes, and who may turn it off."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.test import Client

from shop import clock
from shop.people import actions, second_factor
from shop.people.brakes import HeldUp
from shop.people.models import HowIn, RecoveryCode, Room, SecondFactor, SignIn
from shop.people.second_factor import WrongSecondFactor
from shop.people.secrets import sealed, unsealed
from shop.press.models import Line
from shop.refusal import NotAllowed, Refused
from tests.makers import PASSWORD, moment, together
from tests.people.makers import code_now, make_second_factor

STEP = "/people/sign-in/code/"
ON = "/people/signing-in/second-factor/on/"
OFF = "/people/signing-in/second-factor/off/"
AGAIN = "/people/signing-in/recovery-codes/"


def halfway(person, there=""):
    client = Client()
    typed = {"username": person.sign_in, "password": PASSWORD, "next": there}
    answer = client.post("/people/sign-in/", typed)
    assert answer["Location"].startswith(STEP)
    return client


def is_in(client) -> bool:
    return client.get("/people/settings/").status_code == 200


# Signing in -----------------------------------------------------------------------------------------------------------


def test_signing_in_asks_for_a_code_and_comes_back_to_where_one_was_going(assistant):
    secret, _ = make_second_factor(assistant)
    client = halfway(assistant, "/duties/?q=a%20b")
    assert not is_in(client)
    page = client.get(STEP + "?next=/duties/%3Fq%3Da%2520b")
    assert 'autocomplete="one-time-code"' in page.content.decode()
    answer = client.post(STEP, {"code": code_now(secret), "next": "/duties/?q=a%20b"})
    assert answer["Location"] == "/duties/?q=a%20b"
    assert is_in(client)
    assert SignIn.objects.get().how == HowIn.BOTH


def test_without_it_nothing_more_is_asked(assistant, client):
    answer = client.post("/people/sign-in/", {"username": "pellow", "password": PASSWORD})
    assert answer["Location"] == "/"


def test_the_step_alone_leads_nowhere(assistant, client):
    secret, _ = make_second_factor(assistant)
    assert client.get(STEP)["Location"] == "/people/sign-in/"
    assert client.post(STEP, {"code": code_now(secret)})["Location"] == "/people/sign-in/"
    assert not is_in(client)


def test_the_first_step_is_good_for_ten_minutes_and_only_with_the_password_of_then(owner, assistant, at):
    with at("2025-03-03 08:00:10"):
        secret, _ = make_second_factor(assistant)
        client, other = halfway(assistant), halfway(assistant)
    with at("2025-03-03 08:10:30"):
        assert client.post(STEP, {"code": code_now(secret)})["Location"] == "/people/sign-in/"
    with at("2025-03-03 08:05:30"):
        actions.set_password(by=owner, once=uuid4(), person=assistant, password="four warm words in wax")
        assert other.post(STEP, {"code": code_now(secret)})["Location"] == "/people/sign-in/"


def test_somebody_switched_off_between_the_steps_stays_out(owner, assistant):
    secret, _ = make_second_factor(assistant)
    client = halfway(assistant)
    assistant.is_active = False
    assistant.save()
    assert client.post(STEP, {"code": code_now(secret)})["Location"] == "/people/sign-in/"
    assert not is_in(client)


def test_a_code_is_typed_with_or_without_a_blank(assistant):
    secret, _ = make_second_factor(assistant)
    code = code_now(secret)
    second_factor.check(assistant, f" {code[:3]} {code[3:]} ")


@pytest.mark.parametrize(("later", "right"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_a_clock_may_be_half_a_minute_off(assistant, at, later, right):
    with at("2025-03-03 08:00:10"):
        secret, _ = make_second_factor(assistant)
        if right:
            second_factor.check(assistant, code_now(secret, later))
        else:
            with pytest.raises(WrongSecondFactor):
                second_factor.check(assistant, code_now(secret, later))


def test_a_code_counts_once_and_none_before_it_does_after(assistant, at):
    with at("2025-03-03 08:00:10"):
        secret, _ = make_second_factor(assistant)
        second_factor.check(assistant, code_now(secret))
        for late in (0, -1):
            with pytest.raises(WrongSecondFactor):
                second_factor.check(assistant, code_now(secret, late))
        second_factor.check(assistant, code_now(secret, 1))


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("kind", ["app", "recovery"])
def test_a_code_used_by_four_at_once_counts_once(assistant, kind):
    """Four of them, so that the brakes, which hold up the sixth, have no say in it."""
    secret, shown = make_second_factor(assistant)
    with clock.moved(moment("2025-03-03 08:00:10")):
        SecondFactor.objects.update(last_step=0)
        code = code_now(secret) if kind == "app" else shown[0]
        outcomes = together(*[lambda: second_factor.check(assistant, code)] * 4)
        assert outcomes.count(None) == 1, outcomes
        assert sum(isinstance(outcome, WrongSecondFactor) for outcome in outcomes) == 3, outcomes


@pytest.mark.parametrize("typed", ["", "12345", "1234567", "abcdef", "١٢٣٤٥٦", "000000\x00", "-1-1-1"])
def test_what_is_no_code_is_refused(assistant, typed):
    make_second_factor(assistant)
    with pytest.raises(WrongSecondFactor):
        second_factor.check(assistant, typed)


def test_guessing_codes_is_held_up(assistant, at):
    with at("2025-03-03 08:00:10"):
        secret, _ = make_second_factor(assistant)
        client = halfway(assistant)
        wrong = "000000" if code_now(secret) != "000000" else "111111"
        answers = [client.post(STEP, {"code": wrong}).status_code for _ in range(6)]
        assert answers == [422] * 5 + [429]
        held = client.post(STEP, {"code": code_now(secret)})
        assert held.status_code == 429
        assert held["Retry-After"] == "30"
    with at("2025-03-03 08:00:45"):
        assert client.post(STEP, {"code": code_now(secret)}).status_code == 302


# Recovery codes -------------------------------------------------------------------------------------------------------


def test_each_recovery_code_counts_once_and_it_is_kept_that_it_did(assistant):
    _, shown = make_second_factor(assistant)
    assert len(set(shown)) == 10
    assert all(re.fullmatch(r"(?:[a-z2-7]{4}-){3}[a-z2-7]{4}", code) for code in shown)
    client = halfway(assistant)
    assert client.post(STEP, {"code": shown[3].upper().replace("-", " ")}).status_code == 302
    assert is_in(client)
    again = halfway(assistant)
    assert again.post(STEP, {"code": shown[3]}).status_code == 422
    assert again.post(STEP, {"code": shown[4]}).status_code == 302
    assert second_factor.codes_left(assistant) == 8
    assert Line.objects.filter(act="people.use_recovery_code", by=assistant).count() == 2


def test_no_recovery_code_is_kept_as_shown(assistant):
    _, shown = make_second_factor(assistant)
    kept = str([*RecoveryCode.objects.values_list(), *Line.objects.values_list()])
    for code in shown:
        assert code not in kept
        assert code.replace("-", "")[2:] not in kept


def test_made_anew_the_old_ones_stop(assistant, client_of):
    _, old = make_second_factor(assistant)
    page = client_of(assistant).post(AGAIN, {"once": str(uuid4()), "old_password": PASSWORD}).content.decode()
    fresh = re.findall(r"<code>([a-z2-7-]+)</code>", page)
    assert len(fresh) == 10
    with pytest.raises(WrongSecondFactor):
        second_factor.check(assistant, old[0])
    second_factor.check(assistant, fresh[0])


def test_they_are_not_anybody_elses(assistant, engineer):
    _, shown = make_second_factor(assistant)
    make_second_factor(engineer)
    with pytest.raises(WrongSecondFactor):
        second_factor.check(engineer, shown[0])


# On and off -----------------------------------------------------------------------------------------------------------


def shown_secret(page: str) -> str:
    found = re.search(r'class="secret">([A-Z2-7 ]+)<', page)
    assert found
    return found[1].replace(" ", "")


def test_it_is_turned_on_with_a_code_of_the_app_and_the_password(assistant, client_of):
    client = client_of(assistant)
    page = client.get(ON).content.decode()
    secret = shown_secret(page)
    assert "<svg" in page
    assert len(secret) == 32  # 160 bits
    assert shown_secret(client.get(ON).content.decode()) == secret  # the picture stays while one fetches the phone
    once = str(uuid4())
    wrong = client.post(ON, {"once": once, "code": "123", "old_password": PASSWORD})
    assert wrong.status_code == 422
    assert shown_secret(wrong.content.decode()) == secret
    assert not SecondFactor.objects.exists()
    done = client.post(ON, {"once": once, "code": code_now(secret), "old_password": PASSWORD}).content.decode()
    assert "The second factor is on." in done
    assert len(re.findall(r"<code>([a-z2-7-]{19})</code>", done)) == 10
    assistant.refresh_from_db()
    assert assistant.second_factor_at is not None
    assert not Session.objects.filter(session_data__contains=secret).exists()
    with pytest.raises(WrongSecondFactor):  # that code was used by this
        second_factor.check(assistant, code_now(secret))


def test_without_the_password_it_is_not_turned_on(assistant, client_of):
    client = client_of(assistant)
    secret = shown_secret(client.get(ON).content.decode())
    refused = client.post(ON, {"once": str(uuid4()), "code": code_now(secret), "old_password": "not it, no no"})
    assert refused.status_code == 422
    assert not SecondFactor.objects.exists()


def test_its_secret_is_sealed(assistant, settings):
    secret, _ = make_second_factor(assistant)
    kept = SecondFactor.objects.get().sealed
    assert secret not in kept
    assert kept not in str(list(Line.objects.values_list()))
    assert unsealed(kept) == secret
    assert sealed(secret) != kept  # no two alike
    settings.SECRET_KEY = "another key of the program than before"
    with pytest.raises(Refused, match="the program's key has changed"):
        unsealed(kept)


def test_with_another_key_of_the_program_recovery_codes_still_count(assistant, settings):
    secret, shown = make_second_factor(assistant)
    settings.SECRET_KEY = "another key of the program than before"
    with pytest.raises(WrongSecondFactor):
        second_factor.check(assistant, code_now(secret))
    second_factor.check(assistant, shown[0])


def test_one_turns_it_off_with_the_password(assistant, client_of):
    make_second_factor(assistant)
    client = client_of(assistant)
    assert client.post(OFF, {"once": str(uuid4()), "old_password": "not it, no no"}).status_code == 422
    assert SecondFactor.objects.exists()
    assert client.post(OFF, {"once": str(uuid4()), "old_password": PASSWORD}).status_code == 302
    assert not SecondFactor.objects.exists()
    assert not RecoveryCode.objects.exists()
    assert Client().post("/people/sign-in/", {"username": "pellow", "password": PASSWORD})["Location"] == "/"


def test_an_owner_takes_it_off_for_somebody_who_lost_it_and_it_is_kept_who_did(owner, assistant, client_of):
    make_second_factor(assistant)
    client = client_of(owner)
    address = f"/people/{assistant.pk}/second-factor/"
    assert "Take it off" in client.get(address).content.decode()
    assert client.post(address, {"once": str(uuid4())}).status_code == 302
    assert not SecondFactor.objects.exists()
    line = Line.objects.get(act="people.take_off_second_factor")
    assert (line.thing, line.by) == (f"person {assistant.pk}: Asta Pellow", owner)
    assert f"/record/?words=person+{assistant.pk}:" in client.get(f"/people/{assistant.pk}/").content.decode()
    assert "has none" in client.get(address).content.decode()


def test_nobody_else_takes_it_off_and_no_owner_their_own_so(owner, engineer, assistant):
    make_second_factor(assistant)
    make_second_factor(owner)
    with pytest.raises(NotAllowed):
        actions.take_off_second_factor(by=engineer, once=uuid4(), person=assistant)
    with pytest.raises(Refused, match="with your password"):
        actions.take_off_second_factor(by=owner, once=uuid4(), person=owner)
    assert SecondFactor.objects.count() == 2


@pytest.mark.parametrize("act", [actions.turn_off_second_factor, actions.take_off_second_factor])
def test_what_is_off_is_not_turned_off(owner, assistant, act):
    about = {"person": assistant} if act is actions.take_off_second_factor else {}
    with pytest.raises(Refused, match="off already"):
        act(by=owner, once=uuid4(), **about)


def test_what_is_on_is_not_turned_on_again(assistant):
    make_second_factor(assistant)
    with pytest.raises(Refused, match="on already"):
        make_second_factor(assistant)
    with pytest.raises(Refused, match="no second factor"):
        actions.renew_recovery_codes(by=assistant_without(assistant), once=uuid4(), recovery=[])


def assistant_without(assistant):
    actions.turn_off_second_factor(by=assistant, once=uuid4())
    assistant.refresh_from_db()
    return assistant


# Where the room wants it ----------------------------------------------------------------------------------------------


def test_where_owners_need_it_they_see_no_other_page_before(owner, engineer, client_of):
    Room.objects.update(owners_need_second_factor=True)
    client = client_of(owner)
    for path in ("/", "/people/", "/stock/", "/people/room/"):
        assert client.get(path)["Location"] == ON
    assert client.post("/people/room/", {"once": str(uuid4())})["Location"] == ON
    page = client.get(ON).content.decode()
    assert "Owners of this room need a second factor." in page
    assert client_of(engineer).get("/").status_code == 200
    code = code_now(shown_secret(page))
    client.post(ON, {"once": str(uuid4()), "code": code, "old_password": PASSWORD})
    assert client.get("/").status_code == 200
    owner.refresh_from_db()
    with pytest.raises(Refused, match="Owners of this room need it"):
        actions.turn_off_second_factor(by=owner, once=uuid4())


def test_such_an_owner_may_sign_out(owner, client_of):
    Room.objects.update(owners_need_second_factor=True)
    assert client_of(owner).post("/people/sign-out/")["Location"] == "/people/sign-in/"


def test_held_up_it_waits_half_a_minute_first(assistant, at):
    with at("2025-03-03 08:00"):
        make_second_factor(assistant)
        for _ in range(5):
            with pytest.raises(WrongSecondFactor):
                second_factor.check(assistant, "nonsense")
        with pytest.raises(HeldUp) as held:
            second_factor.check(assistant, "nonsense")
    assert held.value.wait == timedelta(seconds=30)
