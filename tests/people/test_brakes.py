"""Guessing is held up, by account and by address, and nobody is locked out for good."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client

from shop import clock
from shop.people import actions, brakes, doors
from shop.people.brakes import CLOSE, WIDE, HeldUp, Rule
from shop.people.concerns import concerns
from shop.people.models import Brake
from shop.people.queries import GUESSED
from tests.makers import PASSWORD, moment, together

ADDRESS = "/people/sign-in/"
WRONG = "not it at all, no no"


def press(client: Client, name: str = "pellow", password: str = WRONG, remote: str = "192.0.2.1"):
    return client.post(ADDRESS, {"username": name, "password": password}, REMOTE_ADDR=remote)


def miss(times: int, name: str = "pellow", client: Client | None = None, remote: str = "192.0.2.1") -> list[int]:
    client = client or Client()
    return [press(client, name, remote=remote).status_code for _ in range(times)]


# The rule -------------------------------------------------------------------------------------------------------------


def test_waits_grow_to_a_quarter_of_an_hour_and_no_further():
    waits = [CLOSE.wait(misses).total_seconds() for misses in range(1, 14)]
    assert waits == [0, 0, 0, 0, 30, 60, 120, 240, 480, 900, 900, 900, 900]
    assert CLOSE.wait(10**9) == timedelta(minutes=15)


def test_misses_are_forgotten_one_by_one():
    rule = Rule(free=5, forgets=timedelta(minutes=30))
    assert [rule.left(6, timedelta(minutes=m)) for m in (0, 29, 30, 59, 60, 180, 10**6)] == [6, 6, 5, 5, 4, 0, 0]
    assert rule.left(6, timedelta(minutes=-5)) == 6  # a clock that was set back forgets nothing


@pytest.mark.parametrize(
    ("remote", "key"),
    [
        ("192.0.2.7", "address:192.0.2.7"),
        ("::ffff:192.0.2.7", "address:192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "address:2001:db8:1:2::/64"),
        ("2001:db8:1:2:ffff::1", "address:2001:db8:1:2::/64"),
        ("", "address:unknown"),
    ],
)
def test_an_address_is_that_of_one_customer(remote, key):
    assert brakes.address(remote) == key


def test_an_account_is_the_same_however_its_name_is_typed_and_the_name_is_not_kept():
    names = ("Pellow", "pellow ", "ＰＥＬＬＯＷ", "pel\u200blow")
    assert len({brakes.account(name) for name in names}) == 1
    assert brakes.account("pellow") != brakes.account("pelow")
    assert "pellow" not in brakes.account("pellow")


# Through the door -----------------------------------------------------------------------------------------------------


def test_the_sixth_try_waits_and_is_told_how_long(assistant, at):
    with at("2025-03-03 08:10:00"):
        assert miss(5) == [422] * 5
    with at("2025-03-03 08:10:05"):
        held = press(Client(), password=PASSWORD)
    assert held.status_code == 429
    assert held.headers["Retry-After"] == "25"
    page = held.content.decode()
    assert "There were too many tries. Wait 25 seconds, then try again." in page
    assert 'value="pellow"' in page
    with at("2025-03-03 08:10:30"):
        assert press(Client(), password=PASSWORD).status_code == 302


def test_a_right_password_makes_it_free_again(assistant):
    miss(4)
    assert press(Client(), password=PASSWORD).status_code == 302
    assert miss(4) == [422] * 4
    assert press(Client(), password=PASSWORD).status_code == 302


def test_nobody_is_locked_out_for_good(assistant):
    """However long somebody guessed, a quarter of an hour later the right password lets in."""
    now = moment("2025-03-03 08:00")
    for _ in range(200):
        with clock.moved(now):
            if press(Client()).status_code == 422:
                last = now
        now += timedelta(minutes=5)
    with clock.moved(last + timedelta(minutes=15)):
        assert press(Client(), password=PASSWORD).status_code == 302


def test_an_unknown_name_is_answered_and_braked_alike(assistant):
    known, unknown = miss(7), miss(7, "nobody", remote="192.0.2.2")
    assert known == unknown == [422] * 5 + [429] * 2
    Brake.objects.all().delete()

    def page(name: str) -> str:
        answer = press(Client(), name, remote="192.0.2.9").content.decode()
        return answer.partition("<main")[2].replace(f'value="{name}"', "")

    tokens = [line for line in page("pellow").splitlines() if "csrfmiddlewaretoken" not in line]
    assert tokens == [line for line in page("nobody").splitlines() if "csrfmiddlewaretoken" not in line]


def test_an_unknown_name_costs_as_much_work_and_what_is_held_up_costs_none(assistant, visitor, monkeypatch):
    visitor.is_active = False
    visitor.save()
    hashed: list[str] = []
    from django.contrib.auth.hashers import MD5PasswordHasher

    encode = MD5PasswordHasher.encode
    monkeypatch.setattr(
        MD5PasswordHasher,
        "encode",
        lambda self, password, salt: hashed.append(password) or encode(self, password, salt),
    )
    for name in ("pellow", "nobody", "quandry"):
        hashed.clear()
        assert press(Client(), name).status_code == 422
        assert hashed == [WRONG], name
    for name in ("pellow", "nobody", "quandry"):
        miss(5, name)
        hashed.clear()
        assert press(Client(), name).status_code == 429
        assert press(Client(), name, "x" * 257, remote="192.0.2.77").status_code in (422, 429)
        assert hashed == []


def test_an_address_is_held_up_after_twenty_misses_whatever_the_names(assistant, at):
    with at("2025-03-03 08:10"):
        for n in range(20):
            assert press(Client(), f"name{n}").status_code == 422
        assert press(Client(), "pellow", PASSWORD).status_code == 429
        assert press(Client(), "pellow", PASSWORD, remote="192.0.2.2").status_code == 302


def test_somebody_with_an_account_does_not_free_the_address_by_signing_in(assistant, visitor, at):
    """Else one could guess at the others' as long as one signs in to one's own between."""
    with at("2025-03-03 08:10"):
        guesses = 0
        for n in range(60):
            if press(Client(), "pellow", PASSWORD).status_code == 429:
                break
            guesses += press(Client(), f"name{n}").status_code == 422
        assert guesses == WIDE.free


def test_a_device_that_knows_somebody_is_not_held_up_by_strangers(assistant, visitor):
    device = Client()
    assert press(device, password=PASSWORD).status_code == 302
    device.post("/people/sign-out/")
    miss(12)  # by a stranger behind the same address
    for n in range(20):
        press(Client(), f"name{n}")
    assert press(Client(), password=PASSWORD).status_code == 429
    assert press(device, password=PASSWORD).status_code == 302


def test_such_a_device_has_brakes_of_its_own(assistant):
    device = Client()
    press(device, password=PASSWORD)
    device.post("/people/sign-out/")
    assert miss(7, client=device) == [422] * 5 + [429] * 2
    assert press(Client(), password=PASSWORD, remote="192.0.2.5").status_code == 302


def test_a_device_knows_only_who_came_in_on_it_and_not_for_long_after_a_new_password(owner, assistant, visitor):
    device = Client()
    press(device, password=PASSWORD)
    device.post("/people/sign-out/")
    miss(5, "quandry")
    assert press(device, "quandry", PASSWORD).status_code == 429
    actions.set_password(by=owner, once=uuid4(), person=assistant, password="four warm words in wax")
    miss(5)
    assert press(device, password="four warm words in wax").status_code == 429


@pytest.mark.parametrize("cookie", ["", "x", "eyJkZXZpY2UiOiJhIn0:1abc:zzzz"])
def test_a_forged_device_is_none(assistant, cookie):
    device = Client()
    device.cookies["known"] = cookie
    miss(5)
    assert press(device, password=PASSWORD).status_code == 429


def test_the_password_of_now_is_braked_too(assistant, client_of):
    """Somebody who finds a device signed in does not guess the password there."""
    client = client_of(assistant)
    typed = {"old_password": WRONG, "password": "four warm words in wax"}
    for _ in range(5):
        page = client.post("/people/password/", {**typed, "once": str(uuid4())}).content.decode()
        assert "That is not your password now." in page
    right = {**typed, "old_password": PASSWORD, "once": str(uuid4())}
    assert "too many tries" in client.post("/people/password/", right).content.decode()
    with pytest.raises(HeldUp):
        doors.confirm_password(assistant, PASSWORD)


# Together -------------------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_tries_at_one_moment_are_each_counted(room_row):
    """None of two dozen slips through between the count and the look."""

    def guess() -> str:
        try:
            brakes.take({"account:x": CLOSE, "address:y": WIDE})
        except HeldUp:
            return "held up"
        return "looked at"

    outcomes = together(*[guess] * 24)
    assert sorted(outcomes) == ["held up"] * 19 + ["looked at"] * 5
    assert Brake.objects.get(key="account:x").misses == 5
    assert Brake.objects.get(key="address:y").misses == 5


@pytest.mark.django_db(transaction=True)
def test_tries_on_accounts_in_any_order_do_not_block_each_other(room_row):
    def guess(first: str, second: str) -> None:
        for _ in range(10):
            brakes.take({first: Rule(free=1000), second: Rule(free=1000)})

    outcomes = together(*[lambda: guess("a", "b"), lambda: guess("b", "a")] * 3)
    assert outcomes == [None] * 6
    assert [row.misses for row in Brake.objects.order_by("key")] == [60, 60]


# What comes of it -----------------------------------------------------------------------------------------------------


def test_owners_are_told_where_somebody_keeps_guessing(assistant, at):
    now = moment("2025-03-03 08:10")
    brakes.take({brakes.account("pellow"): CLOSE}, assistant)
    Brake.objects.update(in_a_row=GUESSED - 1, last_at=now)
    with clock.moved(now):
        assert list(concerns(now)) == []
        Brake.objects.update(in_a_row=GUESSED)
        (worry,) = concerns(now)
    assert "Asta Pellow" in worry.headline
    assert worry.link == f"/people/{assistant.pk}/"
    with clock.moved(now + timedelta(days=2)):
        assert list(concerns(clock.now())) == []  # it has stopped


def test_old_brakes_are_cleared_away(room_row, at):
    with at("2025-03-03 08:10"):
        brakes.take({"account:x": CLOSE})
    with at("2025-03-09 08:10"):
        assert brakes.forget_old() == "0 forgotten"
        brakes.take({"account:y": CLOSE})
    with at("2025-03-11 08:10"):
        assert brakes.forget_old() == "1 forgotten"
    assert Brake.objects.get().key == "account:y"


@pytest.mark.django_db(transaction=True)
def test_no_try_is_counted_where_a_refusal_would_undo_it(room_row):
    with transaction.atomic(), pytest.raises(RuntimeError):
        brakes.take({"account:x": CLOSE})
    assert not Brake.objects.exists()
