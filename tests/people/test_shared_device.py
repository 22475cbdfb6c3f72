"""The shared tablet: two presses change places; it locks; a code opens nothing of an owner's."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client

from shop import clock
from shop.people import actions, codes
from shop.people.brakes import HeldUp
from shop.people.codes import SLEEPS_AFTER, CodeAsleep, NoCode, WrongCode
from shop.people.models import HowIn, PersonalCode, Room, SharedDevice, SignIn
from shop.press.models import Line
from shop.refusal import NotAllowed, Refused
from tests.makers import PASSWORD, moment, together
from tests.people.makers import CODE, code_now, make_code, make_second_factor

PLACES = "/people/change-places/"
WRONG = "739164"


def sign_in(client, name, **more):
    return client.post("/people/sign-in/", {"username": name, "password": PASSWORD, **more})


@pytest.fixture
def tablet(owner):
    """A browser that an owner named as shared, and left."""
    client = Client()
    sign_in(client, "tindrum")
    named = client.post("/people/devices/name/", {"once": str(uuid4()), "name": "The tablet by the lathe"})
    assert named["Location"] == "/people/devices/"
    client.post("/people/lock/")
    return client


@pytest.fixture
def coded(assistant, engineer):
    make_code(assistant)
    make_code(engineer, "615 204")


def come(tablet, person, code=CODE, there=""):
    return tablet.post(PLACES, {"code": code, "person": person.pk, "next": there})


def who(client) -> str:
    return client.get("/people/more/").context["user"].sign_in


# Changing places ------------------------------------------------------------------------------------------------------


def test_places_are_changed_in_two_presses_from_any_page(tablet, coded, assistant, engineer):
    assert come(tablet, assistant).status_code == 302
    page = tablet.get("/stock/?kind=blank")
    assert 'value="/stock/?kind=blank"' in page.content.decode()  # where the first press goes on from
    first = tablet.post("/people/lock/", {"next": "/stock/?kind=blank"})
    assert first["Location"] == f"{PLACES}?next=%2Fstock%2F%3Fkind%3Dblank"
    picker = tablet.get(first["Location"]).content.decode()
    assert "Asta Pellow" in picker
    assert "Edvin Maarsk" in picker
    second = come(tablet, engineer, "615204", "/stock/?kind=blank")
    assert second["Location"] == "/stock/?kind=blank"
    assert who(tablet) == "maarsk"


def test_it_is_logged_who_was_there(tablet, coded, assistant, engineer):
    come(tablet, assistant)
    tablet.post("/people/lock/")
    come(tablet, engineer, "615204")
    device = SharedDevice.objects.get()
    rows = SignIn.objects.filter(device=device).order_by("pk")
    assert [(row.person.sign_in, row.how, row.ended_at is None) for row in rows] == [
        ("tindrum", HowIn.PASSWORD, False),
        ("pellow", HowIn.CODE, False),
        ("maarsk", HowIn.CODE, True),
    ]


def test_who_is_signed_in_may_be_changed_without_locking_first(tablet, coded, assistant, engineer):
    come(tablet, assistant)
    assert come(tablet, engineer, "615204").status_code == 302
    assert who(tablet) == "maarsk"
    assert SignIn.objects.filter(ended_at=None).count() == 1


def test_a_wrong_code_or_none_changes_nothing(tablet, coded, assistant, engineer):
    come(tablet, engineer, "615204")
    for typed, words in (
        ({"code": WRONG, "person": assistant.pk}, "That is not the code of Asta Pellow."),
        ({"code": CODE, "person": engineer.pk}, "That is not the code of Edvin Maarsk."),
        ({"code": "", "person": assistant.pk}, "Fill this in."),
        ({"code": CODE}, "Press your name."),
        ({"code": CODE, "person": 10**6}, "Press your name."),
    ):
        refused = tablet.post(PLACES, typed)
        assert refused.status_code == 422, typed
        assert words in refused.content.decode()
        assert CODE not in refused.content.decode()
    assert who(tablet) == "maarsk"


def test_a_code_counts_on_no_other_device(coded, assistant, client_of):
    stranger = Client()
    assert stranger.get(PLACES)["Location"] == "/people/sign-in/"
    assert come(stranger, assistant)["Location"] == "/people/sign-in/"
    assert stranger.get("/people/settings/").status_code == 302
    assert come(client_of(assistant), assistant).status_code == 422


@pytest.mark.parametrize("cookie", ["", "x", "eyJ4IjoxfQ:1abc:zz", "ImEi:1rM:x"])
def test_a_forged_device_is_none(coded, assistant, cookie):
    client = Client()
    client.cookies["shared"] = cookie
    assert come(client, assistant)["Location"] == "/people/sign-in/"


def test_the_door_of_a_shared_device_shows_the_names_first_and_the_password_on_request(tablet, coded):
    led = tablet.get("/people/sign-in/?next=/stock/")
    assert led["Location"] == f"{PLACES}?next=%2Fstock%2F"
    page = tablet.get("/people/sign-in/?with=password&next=/stock/")
    assert page.status_code == 200
    assert "With a personal code" in page.content.decode()


def test_pressing_enter_presses_no_name(tablet, coded):
    page = tablet.get(PLACES).content.decode().partition("<main")[2]
    assert page.index('<button type="submit" disabled hidden></button>') < page.index('name="person"')


def test_only_those_with_a_code_who_may_sign_in_are_shown(tablet, coded, assistant, visitor, owner):
    assistant.is_active = False
    assistant.save()
    page = tablet.get(PLACES).content.decode()
    assert "Edvin Maarsk" in page
    for name in ("Asta Pellow", "Vito Quandry", "Orla Tindrum"):
        assert name not in page
    assert come(tablet, assistant).status_code == 422


# Locking --------------------------------------------------------------------------------------------------------------


def test_it_locks_when_left_alone_and_leads_back_afterwards(tablet, coded, assistant):
    Room.objects.update(tablet_idle_minutes=3)
    with clock.moved(moment("2025-03-03 08:00")):
        come(tablet, assistant)
    with clock.moved(moment("2025-03-03 08:02:59")):
        assert tablet.get("/stock/").status_code == 200
    with clock.moved(moment("2025-03-03 08:05:58")):
        assert tablet.get("/stock/").status_code == 200
    with clock.moved(moment("2025-03-03 08:09")):
        locked = tablet.get("/stock/?kind=blank")
        assert locked["Location"] == "/people/sign-in/?next=%2Fstock%2F%3Fkind%3Dblank"
        assert tablet.get("/").status_code == 302
        assert SignIn.objects.filter(person=assistant, ended_at=None).count() == 0


def test_a_press_after_the_time_is_not_done(tablet, coded, assistant):
    with clock.moved(moment("2025-03-03 08:00")):
        come(tablet, assistant)
    with clock.moved(moment("2025-03-03 08:06")):
        typed = {"pressure_unit": "psi", "temperature_unit": "degC", "liquid_unit": "l", "length_unit": "mm"}
        answer = tablet.post("/people/settings/", {"once": str(uuid4()), **typed})
    assert answer["Location"] == "/people/sign-in/?next=%2Fpeople%2Fsettings%2F"
    assistant.refresh_from_db()
    assert assistant.pressure_unit == "bar"


def test_somebody_who_types_long_is_still_there(tablet, coded, assistant):
    now = moment("2025-03-03 08:00")
    with clock.moved(now):
        come(tablet, assistant)
    for _ in range(20):
        now += timedelta(minutes=1)
        with clock.moved(now):
            assert tablet.get("/people/still-here/").status_code == 200
    with clock.moved(now):
        assert who(tablet) == "pellow"


def test_whoever_signed_in_with_the_password_there_is_locked_too(tablet, visitor):
    with clock.moved(moment("2025-03-03 08:00")):
        sign_in(tablet, "quandry")
    with clock.moved(moment("2025-03-03 08:06")):
        assert tablet.get("/stock/").status_code == 302


def test_another_device_does_not_lock(assistant):
    client = Client()
    with clock.moved(moment("2025-03-03 08:00")):
        sign_in(client, "pellow")
    with clock.moved(moment("2025-03-03 18:00")):
        assert client.get("/stock/").status_code == 200
        assert client.post("/people/lock/").status_code == 422


# What a code does not open --------------------------------------------------------------------------------------------

OWN = [
    "/people/add/",
    "/people/invite/",
    "/people/room/",
    "/people/room/signing-in/",
    "/people/devices/",
    "/people/signing-in/second-factor/on/",
    "/people/signing-in/personal-code/",
    "/people/password/",
    "/watch/mail/",
]


@pytest.fixture
def by_code(tablet, owner):
    make_code(owner, "904 371")
    come(tablet, owner, "904371")
    return tablet


def test_an_owners_things_ask_for_the_password_again(by_code, owner):
    for path in OWN:
        assert by_code.get(path)["Location"] == f"/people/ask-again/?next={path.replace('/', '%2F')}", path
    for path in OWN[:4]:
        assert by_code.post(path, {"once": str(uuid4())})["Location"].startswith("/people/ask-again/"), path
    assert by_code.get("/").status_code == 200  # the day's work goes on
    assert by_code.get("/people/").status_code == 200


def test_with_the_password_they_open_for_ten_minutes(by_code):
    again = "/people/ask-again/?next=/people/room/"
    assert by_code.post(again, {"password": "not it, no no"}).status_code == 422
    assert by_code.get("/people/room/").status_code == 302
    now = clock.now()
    assert by_code.post(again, {"password": PASSWORD})["Location"] == "/people/room/"
    assert by_code.get("/people/room/").status_code == 200
    Room.objects.update(tablet_idle_minutes=60)
    with clock.moved(now + timedelta(minutes=11)):
        assert by_code.get("/people/room/").status_code == 302


def test_with_a_second_factor_they_ask_for_that_too(by_code, owner):
    secret, _ = make_second_factor(owner)
    again = "/people/ask-again/?next=/people/room/"
    assert 'name="code"' in by_code.get(again).content.decode()
    assert by_code.post(again, {"password": PASSWORD, "code": "000"}).status_code == 422
    assert by_code.post(again, {"password": PASSWORD, "code": code_now(secret)})["Location"] == "/people/room/"


def test_asking_again_is_braked(by_code):
    answers = [by_code.post("/people/ask-again/", {"password": "not it, no no"}).status_code for _ in range(6)]
    assert answers == [422] * 5 + [429]


def test_who_came_with_the_password_is_not_asked_again(owner):
    client = Client()
    sign_in(client, "tindrum")
    assert client.get("/people/room/").status_code == 200


# Naming and ending ----------------------------------------------------------------------------------------------------


def test_ending_it_signs_out_whoever_is_on_it_and_codes_open_it_no_longer(tablet, coded, assistant, owner):
    come(tablet, assistant)
    actions.end_device(by=owner, once=uuid4(), device=SharedDevice.objects.get())
    assert tablet.get("/stock/").status_code == 302
    assert come(tablet, assistant)["Location"] == "/people/sign-in/"
    assert tablet.get("/people/sign-in/").status_code == 200
    with pytest.raises(Refused, match="no longer already"):
        actions.end_device(by=owner, once=uuid4(), device=SharedDevice.objects.get())


def test_its_secret_is_not_kept(tablet):
    value = tablet.cookies["shared"].value
    kept = str(SharedDevice.objects.values_list().get())
    assert value.split(":")[0] not in kept
    assert tablet.cookies["shared"]["httponly"]


def test_naming_twice_by_one_form_makes_one_and_leaves_the_browser_what_it_was_given(owner):
    client = Client()
    sign_in(client, "tindrum")
    typed = {"once": str(uuid4()), "name": "The tablet"}
    client.post("/people/devices/name/", typed)
    given = {name: kept.value for name, kept in client.cookies.items() if name != "messages"}
    again = client.post("/people/devices/name/", typed, follow=True)
    assert "The tablet was named already." in again.content.decode()
    assert {name: kept.value for name, kept in client.cookies.items() if name != "messages"} == given
    assert SharedDevice.objects.count() == 1


@pytest.mark.parametrize("role", ["engineer", "assistant", "visitor"])
def test_only_owners_name_and_end_devices(role, request, tablet):
    person = request.getfixturevalue(role)
    with pytest.raises(NotAllowed):
        actions.name_device(by=person, once=uuid4(), name="Mine", secret="z" * 43)
    with pytest.raises(NotAllowed):
        actions.end_device(by=person, once=uuid4(), device=SharedDevice.objects.get())


# The code itself ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "poor",
    ["", "12345", "1234567890123", "abcdef", "111111", "123456", "654321", "121212", "112211x", "789012", "١٢٣٤٥٦"],
)
def test_a_poor_code_is_refused(assistant, poor):
    with pytest.raises(Refused) as no:
        make_code(assistant, poor)
    assert no.value.field == "personal_code"
    assert not PersonalCode.objects.exists()


def test_it_is_set_with_the_password_and_kept_as_a_hash(assistant, client_of):
    client = client_of(assistant)
    address = "/people/signing-in/personal-code/"
    typed = {"once": str(uuid4()), "personal_code": CODE, "old_password": "not it, no no"}
    assert client.post(address, typed).status_code == 422
    done = client.post(address, typed | {"old_password": PASSWORD}, follow=True).content.decode()
    assert "Your personal code is set." in done
    assert CODE.replace(" ", "") not in PersonalCode.objects.get().hashed
    codes.check(assistant, CODE, device="d")


def test_no_digest_of_it_is_kept_with_the_press(assistant):
    """Six digits would be found from a quick hash in no time."""
    once = uuid4()
    actions.set_personal_code(by=assistant, once=once, personal_code=CODE)
    assert CODE not in str(list(Line.objects.values_list()))
    again = actions.set_personal_code(by=assistant, once=once, personal_code="615 204")
    assert again == assistant  # the same press: its first result
    codes.check(assistant, CODE, device="d")


def test_a_visitor_has_none(visitor):
    with pytest.raises(NotAllowed):
        make_code(visitor)
    with pytest.raises(NoCode):
        codes.check(visitor, CODE, device="d")


def test_guessing_is_held_up_by_person_and_device(assistant, engineer, at):
    make_code(assistant)
    make_code(engineer, "615 204")
    with at("2025-03-03 08:00"):
        for _ in range(5):
            with pytest.raises(WrongCode) as wrong:
                codes.check(assistant, WRONG, device="tablet")
            assert wrong.value.field == "code"
        with pytest.raises(HeldUp) as held:
            codes.check(assistant, CODE, device="tablet")
        assert held.value.field == "code"
        codes.check(engineer, "615204", device="tablet")
        codes.check(assistant, CODE, device="phone")
    with at("2025-03-03 08:00:30"):
        codes.check(assistant, CODE, device="tablet")


def test_after_twenty_wrong_ones_it_sleeps_until_the_password_wakes_it(assistant):
    make_code(assistant)
    now = moment("2025-03-03 08:00")
    for _ in range(SLEEPS_AFTER):
        now += timedelta(minutes=20)
        with clock.moved(now), pytest.raises(WrongCode):
            codes.check(assistant, WRONG, device="tablet")
    now += timedelta(hours=12)
    with clock.moved(now), pytest.raises(CodeAsleep):
        codes.check(assistant, CODE, device="tablet")
    with clock.moved(now):
        sign_in(Client(), "pellow")  # nobody can stop that
        codes.check(assistant, CODE, device="tablet")


@pytest.mark.django_db(transaction=True)
def test_tries_at_one_moment_are_each_counted(assistant):
    make_code(assistant)
    outcomes = together(*[lambda: codes.check(assistant, WRONG, device="tablet")] * 12)
    assert sum(isinstance(outcome, WrongCode) for outcome in outcomes) == 5
    assert sum(isinstance(outcome, HeldUp) for outcome in outcomes) == 7
    assert PersonalCode.objects.get().misses == 5


def test_somebody_switched_off_has_none(assistant):
    make_code(assistant)
    assistant.is_active = False
    with pytest.raises(NoCode):
        codes.check(assistant, CODE, device="d")
