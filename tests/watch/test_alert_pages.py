"""The pages of alerts: what one sees, and what a press does."""

from dataclasses import replace
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.jobs import registry
from shop.people.fields import measured
from shop.people.queries import the_room
from shop.watch import words
from shop.watch.models import Alert, StepKind, Wishes
from shop.watch.sweep import sweep
from tests.makers import moment
from tests.watch.makers import GAS, TALC, with_address

pytestmark = pytest.mark.django_db


@pytest.fixture
def alerts(worries, engineer, owner):
    worries += [GAS, TALC]
    sweep()
    return {alert.key: alert for alert in Alert.objects.all()}


def press(client, alert, verb, **typed):
    return client.post(f"/watch/alerts/{alert.pk}/{verb}/", {"once": str(uuid4()), **typed})


def test_they_are_listed_by_whose_turn_it_is(client_of, alerts, engineer, owner):
    mine = client_of(engineer).get("/watch/alerts/").content.decode()
    assert "With you" in mine
    assert mine.index(GAS.headline) < mine.index(TALC.headline)
    assert "With you" not in client_of(owner).get("/watch/alerts/").content.decode()


def test_an_empty_page_says_so_and_whether_anybody_would_hear_by_mail(client_of, worries, owner):
    assert "Nothing was looked at yet" in client_of(owner).get("/watch/alerts/").content.decode()
    registry.run_due()
    page = client_of(owner).get("/watch/alerts/").content.decode()
    assert "Nothing stands" in page
    assert "As of" in page
    assert "has a mail address here" in page
    with_address(owner)
    assert "has a mail address here" not in client_of(owner).get("/watch/alerts/").content.decode()


def test_what_was_put_right_is_set_apart_and_is_no_hold_any_more(client_of, worries, alerts, engineer):
    worries.drop(GAS.key)
    sweep()
    page = client_of(engineer).get("/watch/alerts/").content.decode()
    assert page.index(TALC.headline) < page.index("Put right just now") < page.index(GAS.headline)
    assert "concern-hold" not in page


def test_one_press_takes_it_on_and_the_page_tells_what_befell_it(client_of, alerts, engineer):
    client, alert = client_of(engineer), alerts[GAS.key]
    assert press(client, alert, "take").status_code == 302
    page = client.get(alert.get_absolute_url()).content.decode()
    assert f"{engineer.name} looks after it" in page
    assert "Taken on by" in page


def test_pressed_twice_it_is_taken_once(client_of, alerts, engineer):
    client, alert, once = client_of(engineer), alerts[GAS.key], str(uuid4())
    for _ in range(2):
        assert client.post(f"/watch/alerts/{alert.pk}/take/", {"once": once}).status_code == 302
    assert alert.steps.filter(kind=StepKind.TAKEN).count() == 1


def test_a_hold_is_not_settled_by_a_word(client_of, alerts, engineer):
    page = press(client_of(engineer), alerts[GAS.key], "settle", word="Never mind.")
    assert page.status_code == 422
    assert "not settled by a word" in page.content.decode()


def test_a_word_that_may_be_left_out_is_said_to_be_optional_once(client_of, alerts, engineer):
    page = client_of(engineer).get(f"/watch/alerts/{alerts[GAS.key].pk}/snooze/").content.decode()
    assert page.count("if you like") == 1


def test_a_hold_is_snoozed_no_longer_than_the_shop_s_rule(client_of, alerts, engineer, at):
    client = client_of(engineer)
    with at("2027-03-01 08:00"):
        far = press(client, alerts[GAS.key], "snooze", until="2027-03-01T12:01")
        assert "for 4 hours at most" in far.content.decode()
        assert press(client, alerts[GAS.key], "snooze", until="2027-03-01T12:00").status_code == 302


@pytest.mark.parametrize(
    ("verb", "typed", "sentence"),
    [
        ("snooze", {"until": "2020-01-01T08:00"}, "Give a time to come"),
        ("snooze", {"until": ""}, "Fill this in"),
        ("snooze", {"until": "soon"}, "That is not a time"),
        ("settle", {"word": ""}, "Fill this in"),
        ("give-back", {"note": "No time."}, "Nobody looks after it yet"),
    ],
)
def test_what_is_wrong_is_said(client_of, alerts, engineer, verb, typed, sentence):
    page = press(client_of(engineer), alerts[TALC.key], verb, **typed)
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert not Alert.objects.exclude(snoozed_until=None, settled_at=None, taken_by=None).exists()


def test_what_is_over_cannot_be_taken_on(client_of, alerts, engineer):
    alert = alerts[TALC.key]
    Alert.objects.filter(pk=alert.pk).update(ended_at=clock.now())
    assert "is gone" in press(client_of(engineer), alert, "take").content.decode()
    assert alert.headline in client_of(engineer).get("/watch/alerts/over/").content.decode()


def test_a_visitor_reads_and_does_nothing(client_of, alerts, visitor):
    client = client_of(visitor)
    assert client.get("/watch/alerts/").status_code == 200
    assert press(client, alerts[GAS.key], "take").status_code == 403


# How one is told ------------------------------------------------------------------------------------------------------


def test_wishes_are_kept_and_a_stale_save_shows_both(client_of, worries, engineer):
    client = client_of(engineer)
    typed = {"mail_at": "06:45", "quiet_from": "20:00", "quiet_to": "06:00", "at_once": "on", "muted": ["stock"]}
    first = client.post("/watch/wishes/", {"once": str(uuid4()), "version": "0", **typed})
    assert first.status_code == 302
    row = Wishes.objects.get()
    assert (row.morning_mail, f"{row.mail_at:%H:%M}", row.muted) == (False, "06:45", ["stock"])
    stale = client.post("/watch/wishes/", {"once": str(uuid4()), "version": "1", **typed, "mail_at": "08:00"})
    assert stale.status_code == 422
    assert "Somebody changed this" in stale.content.decode()


def test_looking_at_the_link_of_a_mail_changes_nothing_and_a_press_without_a_sign_in_does(client, worries, engineer):
    with_address(engineer)
    path = words.leaving_address(engineer, "morning").partition("8000")[2]
    assert client.get(path).status_code == 200
    assert not Wishes.objects.exists()
    answer = client.post(path, "List-Unsubscribe=One-Click", content_type="application/x-www-form-urlencoded")
    assert answer.status_code == 200
    assert Wishes.objects.get().morning_mail is False
    assert Wishes.objects.get().at_once is True


def test_a_forged_link_leads_nowhere(client, worries, engineer):
    path = words.leaving_address(engineer, "morning").partition("8000")[2]
    assert client.post(path.replace("/leave/", "/leave/x")).status_code == 404
    assert client.post("/watch/leave/nonsense/").status_code == 404


def test_the_line_is_set_by_the_owner_and_refuses_somebody_twice(client_of, worries, owner, engineer, assistant):
    client = client_of(owner)
    twice = {"once": str(uuid4()), "place_1": engineer.pk, "place_2": engineer.pk, "place_3": ""}
    assert "twice" in client.post("/watch/line/", twice).content.decode()
    right = {"once": str(uuid4()), "place_1": assistant.pk, "place_2": owner.pk, "place_3": ""}
    assert client.post("/watch/line/", right).status_code == 302
    assert list(Wishes.objects.filter(turn__isnull=False).order_by("turn").values_list("person", flat=True)) == [
        assistant.pk,
        owner.pk,
    ]


@pytest.mark.parametrize(("field", "value"), [("hold_minutes", "0"), ("snooze_hours", "48"), ("care_minutes", "many")])
def test_times_out_of_reason_are_refused(client_of, worries, owner, field, value):
    sweep()
    right = {"settle_minutes": "20", "hold_minutes": "30", "care_minutes": "240", "snooze_hours": "4"}
    page = client_of(owner).post("/watch/times/", {"once": str(uuid4()), "version": "1", **right, field: value})
    assert page.status_code == 422


# Whether all is well --------------------------------------------------------------------------------------------------


def test_health_tells_ages_and_counts_and_names_nobody(client, client_of, worries, owner, at):
    with at("2027-03-01 08:00"):
        assert client.get("/health.json").status_code == 503  # no sweep yet
        registry.run_due()
    with clock.moved(moment("2027-03-01 08:03")):
        page = client.get("/health.json")
        assert page.status_code == 200
        assert page.json()["sweep_age_s"] in range(170, 190)
        assert owner.name not in page.content.decode()
        assert "All is running" in client_of(owner).get("/health/").content.decode()
    with clock.moved(moment("2027-03-01 09:00")):
        assert client.get("/health.json").status_code == 503


def test_its_pages_speak_the_reader_s_units(client_of, worries, engineer, owner):
    type(owner).objects.filter(pk=owner.pk).update(temperature_unit="degF")
    warm = measured("temperature", 31.5, the_room())
    worries += [replace(GAS, headline=f"It is {warm.text}", quantities=(warm,))]
    sweep()
    alert = Alert.objects.get()
    for address in ("/watch/alerts/", alert.get_absolute_url(), f"{alert.get_absolute_url()}take/"):
        assert "It is 31.5\u00a0°C" in client_of(engineer).get(address).content.decode()
        assert "It is 88.7\u00a0°F" in client_of(owner).get(address).content.decode()


def test_a_sweep_that_sees_the_same_quantities_writes_nothing_anew(worries, engineer):
    warm, litres = measured("temperature", 31.0, the_room()), measured("liquid", 800, the_room())
    worries += [replace(GAS, headline=f"It is {warm.text}", quantities=(warm, litres))]
    sweep()
    before = list(Alert.objects.values_list())
    with CaptureQueriesContext(connection) as seen:
        sweep()
    assert list(Alert.objects.values_list()) == before
    assert [one["sql"] for one in seen if "INSERT" in one["sql"] and "watch_alert" in one["sql"]] == []
    assert Alert.objects.get().quantities == (warm, litres)
