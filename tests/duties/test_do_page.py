"""Doing a duty on its page, putting it off, an entry and its corrections; each refusal at its field."""

from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from shop.duties import actions, photos
from shop.duties.models import Entry, EntryKind, Photo
from shop.duties.rules import WantedStep, WantedTouch
from shop.people import authority
from shop.training import queries as training
from tests.duties.makers import (
    again,
    do,
    done,
    facts,
    make_duty,
    make_meter,
    make_trap_duty,
    photographed,
    picture,
    read_step,
    step,
    steps_of,
)
from tests.makers import moment
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.usefixtures("monday")


@pytest.fixture
def gauge(engineer):
    return make_duty(engineer, "Leak test", steps=(WantedStep("Close the valve"), read_step()))


def page_of(client, name, pk):
    return client.get(reverse(f"duties:{name}", args=[pk]))


def press(client, name, pk, **typed):
    """Press what a browser would send for the page's form, with this typed into it."""
    form = page_of(client, name, pk).context["form"]
    asked = {"asked": form.fingerprint} if hasattr(form, "fingerprint") else {}
    sent = {"once": str(uuid4())} | asked | typed
    return client.post(reverse(f"duties:{name}", args=[pk]), {k: v for k, v in sent.items() if v is not None})


def ticks(duty, *but):
    return {f"step{one.pk}": "on" for one in steps_of(duty) if one.text not in but}


def reading(duty, value):
    return {f"step{steps_of(duty)[-1].pk}_reading": value}


def said(answer):
    return " ".join(answer.content.decode().split())


def test_a_press_records_it_and_says_when_it_is_next(gauge, assistant, client_of):
    client = client_of(assistant)
    answer = press(client, "do-duty", gauge.pk, **ticks(gauge), **reading(gauge, "12,5"))
    assert (answer.status_code, answer.url) == (302, "/duties/")
    entry = Entry.objects.get()
    assert [one.reading for one in entry.steps.all()] == [None, 12.5]
    seen = said(client.get("/duties/"))
    assert "Leak test: done, and recorded. Next due on Monday 10 March." in seen


def test_it_speaks_the_readers_units_and_shows_limits_and_the_last_reading(gauge, assistant, at, client_of):
    do(assistant, gauge, steps=done(gauge, readings={"Gauge": 12.0}))
    assistant.pressure_unit = "psi"
    assistant.save()
    client = client_of(assistant)
    with at("2025-03-10 09:00"):
        seen = said(page_of(client, "do-duty", gauge.pk))
        assert "The shop&#x27;s own limits: between 145 psi and 218 psi." in seen
        assert "Last: 174 psi" in seen
        assert 'inputmode="decimal"' in seen
        press(client, "do-duty", gauge.pk, **ticks(gauge), **reading(gauge, "180"))
    assert Entry.objects.order_by("id").last().steps.last().reading == pytest.approx(12.41, abs=0.01)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Give the reading"),
        ("abc", "is not a number"),
        ("-3", "below 0"),
        ("1e999", "is not a number"),
        ("12 furlongs", "is not a unit"),
    ],
)
def test_a_bad_reading_is_said_at_its_box(gauge, assistant, client_of, typed, sentence):
    answer = press(client_of(assistant), "do-duty", gauge.pk, **ticks(gauge), **reading(gauge, typed))
    assert answer.status_code == 422
    name = f"step{steps_of(gauge)[-1].pk}_reading"
    assert any(sentence in error for error in answer.context["form"].errors[name])
    assert Entry.objects.count() == 0


def test_what_looks_wrong_is_asked_at_its_field_and_goes_through_once_confirmed(gauge, assistant, client_of):
    client, wrong = client_of(assistant), reading(gauge, "9") | ticks(gauge, "Close the valve")
    answer = press(client, "do-duty", gauge.pk, **wrong)
    seen = said(answer)
    assert answer.status_code == 422
    assert "Look again" in seen
    assert "This step is not ticked. Was it left out?" in seen
    assert "below the shop&#x27;s own" in seen
    sure = [doubt.key for doubt in answer.context["form"].doubts]
    assert "<span>Left out: Close the valve</span>" in seen
    assert "Why a step was left out" in seen
    unsaid = press(client, "do-duty", gauge.pk, **wrong, sure=sure)
    assert unsaid.context["form"].errors["note"] == ["Say why it was left out; it is kept with your name."]
    assert press(client, "do-duty", gauge.pk, **wrong, sure=sure, note="It sticks").status_code == 302
    assert again(gauge).amiss


def test_what_was_left_out_is_said_and_stands_in_the_history(engineer, assistant, client_of):
    duty = make_duty(engineer, "Walk the ways out", steps=(WantedStep("Walk"), WantedStep("Look")))
    client, sure = client_of(assistant), [f"left-out:{one.pk}" for one in steps_of(duty)]
    assert press(client, "do-duty", duty.pk, sure=sure, note="Rain").status_code == 302
    seen = said(client.get("/duties/"))
    assert "Walk the ways out: done, 2 of 2 steps left out, and recorded." in seen
    assert "Asta Pellow, 2 of 2 steps left out" in seen
    assert ">Done, 2 of 2 steps left out<" in said(page_of(client, "duty", duty.pk))
    assert "<h1>Done, 2 of 2 steps left out, 3 March 2025</h1>" in said(
        client.get(Entry.objects.get().get_absolute_url())
    )


def test_tomorrow_and_nonsense_are_said_at_the_time(gauge, assistant, client_of):
    client, right = client_of(assistant), ticks(gauge) | reading(gauge, "12")
    for typed, sentence in (
        ("2025-03-04T08:00", "in the future"),
        ("yesterday", "not a time"),
        ("2025-02-30T08:00", "not a time"),
        ("2025-03-30T01:30", ""),
    ):
        answer = press(client, "do-duty", gauge.pk, **right, at=typed)
        assert answer.status_code == 422, typed
        assert any(sentence in error for error in answer.context["form"].errors["at"])


def test_steps_changed_meanwhile_are_shown_anew_with_what_was_typed(gauge, engineer, assistant, client_of):
    client = client_of(assistant)
    form = page_of(client, "do-duty", gauge.pk).context["form"]
    actions.change_duty(
        by=engineer,
        once=uuid4(),
        duty=gauge,
        version=1,
        facts=facts("Leak test", steps=(WantedStep("New"), read_step())),
    )
    typed = {"once": str(uuid4()), "asked": form.fingerprint} | ticks(gauge) | reading(gauge, "12")
    answer = client.post(reverse("duties:do-duty", args=[gauge.pk]), typed)
    assert answer.status_code == 422
    assert "Its steps were changed while your form was open" in said(answer)
    assert 'value="12"' in said(answer)


def test_twice_is_once(gauge, assistant, client_of):
    client = client_of(assistant)
    form = page_of(client, "do-duty", gauge.pk).context["form"]
    typed = {"once": str(uuid4()), "asked": form.fingerprint} | ticks(gauge) | reading(gauge, "12")
    for _ in range(2):
        assert client.post(reverse("duties:do-duty", args=[gauge.pk]), typed).status_code == 302
    assert Entry.objects.count() == 1


# Photographs ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def looked_at(engineer):
    return make_duty(engineer, "Look at it", steps=(WantedStep("Look", wants_photo=True), read_step()))


def upload(content=None, name="IMG_0001.jpg"):
    return SimpleUploadedFile(name, picture() if content is None else content, "image/jpeg")


def photo_field(duty):
    return f"step{steps_of(duty)[0].pk}_photo"


def test_a_photograph_comes_with_its_step_and_is_shown_to_who_has_signed_in(
    looked_at, assistant, visitor, client_of, client
):
    browser = client_of(assistant)
    right = ticks(looked_at) | reading(looked_at, "12")
    assert press(browser, "do-duty", looked_at.pk, **right, **{photo_field(looked_at): upload()}).status_code == 302
    kept = Photo.objects.get()
    assert f'src="{kept.get_absolute_url()}"' in said(browser.get(kept.entry.get_absolute_url()))
    answer = client_of(visitor).get(kept.get_absolute_url())
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert answer["Content-Disposition"].startswith("attachment")
    assert client.get(kept.get_absolute_url()).status_code == 302, "a stranger is asked to sign in"


def test_a_refusal_does_not_lose_the_photograph(looked_at, assistant, client_of):
    browser = client_of(assistant)
    answer = press(browser, "do-duty", looked_at.pk, **ticks(looked_at), **{photo_field(looked_at): upload()})
    assert answer.status_code == 422
    [row] = [row for row in answer.context["form"].step_boxes if row.kept]
    assert "A photograph is kept for this step already" in said(answer)
    right = ticks(looked_at) | reading(looked_at, "12") | {row.kept_name: row.kept}
    assert press(browser, "do-duty", looked_at.pk, **right).status_code == 302
    assert Photo.objects.get().name == photos.from_ticket(row.kept, assistant.pk).name


@pytest.mark.parametrize("content", [b"<svg onload=alert(1)>", b"\x00" * 50])
def test_what_is_no_photograph_is_said_at_its_box(looked_at, assistant, client_of, content):
    right = ticks(looked_at) | reading(looked_at, "12")
    answer = press(client_of(assistant), "do-duty", looked_at.pk, **right, **{photo_field(looked_at): upload(content)})
    assert answer.status_code == 422
    assert "not a photograph that can be read" in answer.context["form"].errors[photo_field(looked_at)][0]


def test_a_photograph_whose_file_is_gone_is_not_found(looked_at, engineer, client_of):
    duty = make_duty(engineer, "Other", steps=(WantedStep("Look", wants_photo=True),))
    kept = photographed(engineer, duty)
    photos.file_of(kept.name).unlink()
    assert client_of(engineer).get(kept.get_absolute_url()).status_code == 404


# Who and what ---------------------------------------------------------------------------------------------------------


def test_who_stands_in_for_authorities_is_said_only_while_it_is_so(engineer, assistant, client_of):
    duty = make_duty(engineer, "Change the cylinder", authority="change-cylinder")
    client = client_of(assistant)
    assert "No authority of that name is kept here" in said(page_of(client, "do-duty", duty.pk))
    answer = press(client, "do-duty", duty.pk)
    assert "which you don&#x27;t have" in said(answer)
    assert "under" in answer.context["form"].errors
    assert press(client, "do-duty", duty.pk, under=str(engineer.pk)).status_code == 302
    authority.register_holders(lambda act, day: frozenset({assistant.pk}))
    try:
        assert "No authorities are kept" not in said(page_of(client, "duty", duty.pk))
    finally:
        authority.register_holders(training.holders)


def test_what_is_taken_stands_in_its_box_and_too_much_is_said_there(engineer, assistant, client_of):
    item = make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    lot = make_lot(engineer, item, 900)
    duty = make_duty(engineer, touches=(WantedTouch("take-stock", item.pk, 1500),))
    client, box = client_of(assistant), f"touch{duty.touches.get().pk}"
    seen = said(page_of(client, "do-duty", duty.pk))
    assert 'value="1500"' in seen
    assert f"lot {lot.code} first" in seen
    answer = press(client, "do-duty", duty.pk, **{box: "1500"})
    assert "There is only 900" in answer.context["form"].errors[box][0]
    assert press(client, "do-duty", duty.pk, **{box: "90 kg"}).status_code == 422, (
        "a unit that hoses are not measured in"
    )
    assert press(client, "do-duty", duty.pk, **{box: "60 cm"}).status_code == 302
    lot.refresh_from_db()
    assert lot.on_hand == 300


def test_a_stopped_duty_shows_no_form(gauge, engineer, client_of):
    actions.stop_duty(by=engineer, once=uuid4(), duty=gauge, why="Away.")
    seen = said(page_of(client_of(engineer), "do-duty", gauge.pk))
    assert "This duty is stopped" in seen
    assert "It is done" not in seen


# Put off, not needed --------------------------------------------------------------------------------------------------


def test_putting_off_and_not_needed_ask_for_why(gauge, assistant, client_of):
    client = client_of(assistant)
    answer = press(client, "put-off-duty", gauge.pk, until="2025-03-05", reason="")
    assert "Give the reason" in answer.context["form"].errors["reason"][0]
    answer = press(client, "put-off-duty", gauge.pk, until="2025-03-02", reason="Away")
    assert "a day to come" in answer.context["form"].errors["until"][0]
    assert press(client, "put-off-duty", gauge.pk, until="2025-03-05", reason="Away").status_code == 302
    seen = said(page_of(client, "put-off-duty", gauge.pk))
    assert "2 times in a row; 1 is used" in seen
    assert "Put off 3 Mar to 5 Mar by Asta Pellow: Away" in said(page_of(client, "duty", gauge.pk))
    assert "Give the reason" in said(press(client, "not-needed", gauge.pk, reason=""))
    assert press(client, "not-needed", gauge.pk, reason="Nothing was cut").status_code == 302
    assert Entry.objects.order_by("id").last().kind == EntryKind.NOT_NEEDED


def test_what_is_safety_critical_shows_an_assistant_no_way_round_it(engineer, assistant, client_of):
    duty = make_duty(engineer, is_critical=True)
    seen = said(page_of(client_of(assistant), "duty", duty.pk))
    assert "Put it off" not in seen
    assert "Not needed" not in seen
    assert press(client_of(assistant), "put-off-duty", duty.pk, until="2025-03-05", reason="Away").status_code == 403
    assert "Put it off" in said(page_of(client_of(engineer), "duty", duty.pk))


# Entries --------------------------------------------------------------------------------------------------------------


@pytest.fixture
def entry(gauge, assistant, engineer):
    return do(assistant, gauge, steps=done(gauge, readings={"Gauge": 12.0}), under=engineer, note="Quiet.")


def test_an_entry_says_all_that_was_recorded(entry, visitor, client_of):
    seen = said(client_of(visitor).get(entry.get_absolute_url()))
    for part in (
        "Done, 3 March 2025",
        "Asta Pellow",
        "Under the eye of",
        "Edvin Maarsk",
        "Quiet.",
        "12 bar",
        "Close the valve <b>done</b>",
    ):
        assert part in seen
    assert "Put it right" not in seen


def test_a_correction_starts_from_what_was_given(entry, gauge, engineer, client_of):
    client = client_of(engineer)
    seen = said(page_of(client, "correct-entry", entry.pk))
    assert 'value="12"' in seen
    assert seen.count("checked") >= 2
    answer = press(client, "correct-entry", entry.pk, **ticks(gauge), **reading(gauge, "13"), at="2025-03-03T09:10")
    assert "Say what is put right" in answer.context["form"].errors["note"][0]
    typed = ticks(gauge) | reading(gauge, "13") | {"at": "2025-03-03T09:10", "note": "Misread."}
    assert press(client, "correct-entry", entry.pk, **typed).status_code == 302
    old = said(client.get(entry.get_absolute_url()))
    assert "Put right by Edvin Maarsk: Misread." in old
    assert "Strike it out" not in old
    fresh = said(client.get(Entry.objects.get(corrects=entry).get_absolute_url()))
    assert "It takes the place of" in fresh
    assert "It was put right already" in said(page_of(client, "correct-entry", entry.pk))


def test_an_entry_is_struck_out_with_why(entry, gauge, assistant, client_of):
    client = client_of(assistant)
    assert "Say why" in said(press(client, "strike-entry", entry.pk, note=""))
    assert press(client, "strike-entry", entry.pk, note="Wrong room").status_code == 302
    assert "struck out" in said(page_of(client, "duty", gauge.pk))


def test_the_duty_page_draws_intervals_and_readings_with_their_words_and_tables(gauge, assistant, at, client_of):
    for day, value in (("2025-03-03", 12.0), ("2025-03-10", 12.5), ("2025-03-19", 11.0), ("2025-03-24", 12.0)):
        with at(f"{day} 10:00"):
            do(assistant, gauge, steps=done(gauge, readings={"Gauge": value}))
    with at("2025-03-26 10:00"):
        seen = said(page_of(client_of(assistant), "duty", gauge.pk))
    assert (
        "The last 3 intervals were 7 days on average, where the plan had 6.3 days. One was late, at most by 2 days."
        in seen
    )
    assert "Leak test: intervals against the plan" in seen
    assert "Gauge, each time it was read" in seen
    assert "4 readings between 11 bar and 12 bar; the last 12 bar." in seen
    assert seen.count('<svg class="picture"') + seen.count('class="picture"') >= 2


def test_as_many_queries_for_a_long_history_as_for_a_short_one(
    gauge, assistant, at, client_of, django_assert_max_num_queries
):
    client = client_of(assistant)
    for day in range(3, 6):
        with at(f"2025-03-{day:02} 10:00"):
            do(assistant, gauge, steps=done(gauge, readings={"Gauge": 12.0}), sure=_all_early(gauge))
    with django_assert_max_num_queries(20) as few:
        page_of(client, "duty", gauge.pk)
    for day in range(6, 28):
        with at(f"2025-03-{day:02} 10:00"):
            do(assistant, gauge, steps=done(gauge, readings={"Gauge": 12.0}), sure=_all_early(gauge))
    with django_assert_max_num_queries(20) as many:
        page_of(client, "duty", gauge.pk)
    assert len(many) == len(few)


def _all_early(duty):
    return [f"early:2025-03-{due:02}:2025-03-{day:02}" for due in (10, 17, 24, 31) for day in range(3, 31)]


def test_the_chip_trap_page_tells_the_meter_and_what_doing_it_moves(engineer, assistant, client_of):
    duty = make_trap_duty(engineer, make_meter())
    step(assistant, "chip", 4200, at=moment("2025-03-03 09:00"))
    seen = said(page_of(client_of(assistant), "duty", duty.pk))
    assert "4.2 g, due at 5 g; the shop&#x27;s limit 12 g" in seen
    assert "Doing it brings the meter “Chip in the trap” to zero." in seen
