"""The form of a duty: rules from boxes and back, rows, and each thing that can be wrong said at its field."""

from datetime import date, time
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.duties import sheets
from shop.duties.models import Duty, LateGrade
from shop.duties.rules import WantedStep, WantedTouch
from shop.duties.sheets import Sheet
from tests.duties.makers import again, make_duty, make_meter, make_trap_duty, read_step, steps_of
from tests.stock.makers import make_item

pytestmark = pytest.mark.usefixtures("monday")


def said(answer):
    return " ".join(answer.content.decode().split())


def filled(form):
    """What a browser would send of the form as it stands."""
    sent = {"once": str(uuid4())}
    for box in form:
        value = box.value()
        if box.name in ("once", "sure", "steps", "touches") or value is None or value is False or value in ("", []):
            continue
        sent[box.name] = "on" if value is True else box.field.prepare_value(value)
    return sent


def add(client, **typed):
    answer = client.get(reverse("duties:add-duty"))
    return client.post(reverse("duties:add-duty"), filled(answer.context["form"]) | {"name": "Wipe"} | typed)


def change(client, duty, **typed):
    address = reverse("duties:change-duty", args=[duty.pk])
    sent = filled(client.get(address).context["form"]) | typed
    return client.post(address, {name: value for name, value in sent.items() if value is not None})


@pytest.fixture
def client(engineer, client_of):
    return client_of(engineer)


# Rules ----------------------------------------------------------------------------------------------------------------

BOXES = [
    ({"often": "days", "every": "10"}, "FREQ=DAILY;INTERVAL=10"),
    ({"often": "weeks", "every": "1"}, "FREQ=WEEKLY"),
    ({"often": "weeks", "every": "2", "weekdays": ["MO", "TH"]}, "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH"),
    (
        {"often": "weeks", "every": "1", "weekdays": ["MO"], "until": "2025-12-31"},
        "FREQ=WEEKLY;BYDAY=MO;UNTIL=20251231",
    ),
    ({"often": "months", "every": "3"}, "FREQ=MONTHLY;INTERVAL=3"),
    ({"often": "months", "every": "1", "which": "-1", "weekdays": ["FR"]}, "FREQ=MONTHLY;BYDAY=-1FR"),
    ({"often": "years", "every": "1"}, "FREQ=YEARLY"),
    ({"often": "years", "every": "1", "which": "2", "weekdays": ["TU"]}, "FREQ=YEARLY;BYDAY=2TU;BYMONTH=3"),
    ({"often": "own", "rule": "freq=monthly;bymonthday=1,15"}, "FREQ=MONTHLY;BYMONTHDAY=1,15"),
]


@pytest.mark.parametrize(("typed", "rule"), BOXES)
def test_boxes_make_a_rule_and_a_rule_fills_the_boxes(client, typed, rule):
    assert add(client, **typed).status_code == 302
    duty = Duty.objects.get()
    assert duty.rule == rule
    assert change(client, duty).status_code == 302
    assert again(duty).rule == rule, "opened and saved it stays as it is"


def test_a_rule_the_boxes_cannot_say_stands_as_it_is(client, engineer):
    duty = make_duty(engineer, rule="FREQ=MONTHLY;BYDAY=MO,TU;BYSETPOS=-1")
    form = client.get(reverse("duties:change-duty", args=[duty.pk])).context["form"]
    assert (form["often"].value(), form["rule"].value()) == ("own", "FREQ=MONTHLY;BYDAY=MO,TU;BYSETPOS=-1")


def test_by_a_meter_alone(client):
    chip = make_meter()
    assert add(client, often="meter", meter=chip.pk, meter_amount="5,5 g").status_code == 302
    duty = Duty.objects.get()
    assert (duty.rule, duty.meter_amount) == ("", 5500)
    assert "5.5" in said(client.get(reverse("duties:change-duty", args=[duty.pk])))


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"name": ""}, "name", "Fill this in."),
        ({"name": "x" * 81}, "name", "Keep it to 80"),
        ({"often": ""}, "often", "Choose one."),
        ({"often": "hours"}, "often", "not on the list"),
        ({"every": ""}, "every", "Fill this in."),
        ({"every": "0"}, "every", "below 1"),
        ({"every": "2.5"}, "every", "whole number"),
        ({"every": "1e9"}, "every", "not a number"),
        ({"weekdays": ["XX"]}, "weekdays", "not on the list"),
        ({"often": "months", "which": "1"}, "weekdays", "Choose the weekday"),
        ({"often": "own"}, "rule", "Write the rule"),
        ({"often": "own", "rule": "FREQ=SECONDLY"}, "rule", "once a day at most"),
        ({"often": "own", "rule": "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"}, "rule", "never falls due"),
        ({"often": "own", "rule": "FREQ=WEEKLY;UNTIL=20200101"}, "rule", "before its first day"),
        ({"starts_on": "30.2.2025"}, "starts_on", "not a day"),
        ({"starts_on": "0001-01-01"}, "starts_on", "between 1970 and 2200"),
        ({"at": "25:00"}, "at", "not an hour of the day"),
        ({"at": ""}, "at", "Fill this in."),
        ({"until": "2025-02-01", "starts_on": "2025-03-01"}, "until", "before its first day, 1 March 2025"),
        ({"until": "2025-02-01", "starts_on": ""}, "until", "before its first day"),
        ({"often": "meter"}, "often", "Say when it falls due"),
        ({"meter_amount": "5"}, "meter", "Choose the meter"),
        ({"early_days": "-1"}, "early_days", "below 0"),
        ({"late_days": "400"}, "late_days", "above 366"),
        ({"put_off_limit": "x"}, "put_off_limit", "not a number"),
        ({"for_whom": "person:99999"}, "for_whom", "not on the list"),
        ({"authority": "§"}, "authority", "letters, digits and hyphens"),
        ({"late_grade": "3"}, "late_grade", "Only what is safety-critical"),
        ({"s0_text": "", "s0_reads": "Gauge"}, "s0_text", "Say what is done in this step"),
        ({"s0_text": "Read", "s0_reads": "Gauge", "s0_low": "x"}, "s0_low", "not a number"),
        ({"s0_text": "Read", "s0_reads": "Gauge", "s0_low": "3", "s0_high": "2"}, "s0_low", "above the highest"),
        ({"s0_text": "Read", "s0_quantity": "weight"}, "s0_quantity", "not on the list"),
        ({"t0_what": "reset-meter:999"}, "t0_what", "not on the list"),
    ],
)
def test_each_thing_that_is_wrong_is_said_at_its_field(client, typed, field, sentence):
    answer = add(client, **typed)
    assert answer.status_code == 422
    assert any(sentence in error for error in answer.context["form"].errors.get(field, [])), answer.context[
        "form"
    ].errors
    assert "<title>Error:" in said(answer)
    assert not Duty.objects.exists()


@pytest.mark.parametrize(
    ("amount", "sentence"),
    [
        ("", "Say at how much"),
        ("0", "above zero"),
        ("-5", "above zero"),
        ("five", "not a number"),
        ("5 kg", "counts in g"),
    ],
)
def test_a_bad_amount_of_a_meter_is_said_at_its_box(client, amount, sentence):
    answer = add(client, meter=make_meter().pk, meter_amount=amount)
    assert any(sentence in error for error in answer.context["form"].errors["meter_amount"])


@pytest.mark.parametrize(("amount", "sentence"), [("", "Give a number"), ("0", "above zero"), ("2 g", "not a unit")])
def test_a_bad_amount_to_take_is_said_at_its_box(client, engineer, amount, sentence):
    hose = make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    answer = add(client, t0_what=f"take-stock:{hose.pk}", t0_amount=amount)
    assert any(sentence in error for error in answer.context["form"].errors["t0_amount"])


# All of it ------------------------------------------------------------------------------------------------------------


def test_all_of_a_duty_is_added_and_opened_again(client, engineer, assistant):
    chip, hose = make_meter(), make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    typed = {
        "place": "Chip trap",
        "why": "Chip burns.",
        "starts_on": "2025-03-10",
        "at": "16:30",
        "counts_from": "entry",
        "meter": chip.pk,
        "meter_amount": "5",
        "early_days": "1",
        "late_days": "2",
        "for_whom": f"person:{assistant.pk}",
        "authority": "change-cylinder",
        "is_critical": "on",
        "late_grade": "3",
        "put_off_limit": "1",
        "source": "our own",
        "s0_text": "Wet it",
        "s0_photo": "on",
        "s1_text": "Read the gauge",
        "s1_reads": "Gauge",
        "s1_quantity": "pressure",
        "s1_low": "150 psi",
        "s1_high": "15",
        "t0_what": f"take-stock:{hose.pk}",
        "t0_amount": "1500",
    }
    assert add(client, **typed).status_code == 302
    duty = Duty.objects.get()
    assert (duty.at, duty.starts_on, duty.counts_from_entry) == (time(16, 30), date(2025, 3, 10), True)
    assert (duty.for_person, duty.late_grade, duty.put_off_limit) == (assistant, LateGrade.HOLD, 1)
    wet, read = steps_of(duty)
    assert (wet.text, wet.wants_photo, wet.reads) == ("Wet it", True, "")
    assert (read.reads, read.quantity, read.high) == ("Gauge", "pressure", 15.0)
    assert read.low == pytest.approx(10.34, abs=0.01)
    assert [(touch.kind, touch.amount) for touch in duty.touches.all()] == [("take-stock", 1500)]
    assert change(client, duty).status_code == 302
    kept = again(duty)
    assert (kept.meter_amount, kept.for_person, kept.version) == (5000, assistant, 2)
    assert [step.pk for step in steps_of(kept)] == [wet.pk, read.pk]


def test_a_role_or_whoever_is_there(client):
    assert add(client, for_whom="engineer").status_code == 302
    duty = Duty.objects.get()
    assert (duty.for_role, duty.whose) == ("engineer", "any engineer")
    assert change(client, duty, for_whom=None).status_code == 302
    assert again(duty).whose == "whoever is there"


def test_more_rows_are_given_and_judge_nothing_yet(client):
    answer = client.post(
        reverse("duties:add-duty"),
        {"more": "1", "name": "", "rows": "2", "s1_text": "Second", "weekdays": ["MO", "FR"]},
    )
    form = answer.context["form"]
    assert answer.status_code == 200
    assert (form.row_count, form.touch_count) == (4, 2)
    assert 'value="Second"' in said(answer)
    assert form["weekdays"].value() == ["MO", "FR"]
    assert not form.errors


@pytest.mark.parametrize("rows", ["-1", "x", "1000000", "99"])
def test_no_more_rows_than_a_duty_may_have(client, rows):
    form = client.post(reverse("duties:add-duty"), {"more": "1", "rows": rows}).context["form"]
    assert form.row_count <= 20
    assert form.touch_count <= 6


def test_as_many_rows_as_a_draft_kept_are_given(client):
    """draft.js asks for them in the address."""
    form = client.get(reverse("duties:add-duty"), {"rows": "8"}).context["form"]
    assert (form.row_count, form.touch_count) == (8, 4)
    assert len(form.step_boxes) == 8


def test_a_tick_that_was_taken_away_stays_away_when_more_rows_are_asked_for(client, engineer):
    duty = make_duty(engineer, is_critical=True, steps=(WantedStep("Look", wants_photo=True),))
    address = reverse("duties:change-duty", args=[duty.pk])
    sent = filled(client.get(address).context["form"])
    assert (sent.pop("is_critical"), sent.pop("s0_photo")) == ("on", "on")
    answer = client.post(address, sent | {"more": "1"})
    form = answer.context["form"]
    assert (form["is_critical"].value(), form["s0_photo"].value(), form.row_count) == (False, False, 5)
    assert "Two more steps" in said(answer)


def test_what_it_touches_is_kept_however_many_rows_there_are_meanwhile(client, engineer):
    """Somebody took steps away while the form was open: what was typed for the touches comes back with it."""
    duty = make_trap_duty(engineer, make_meter())
    address = reverse("duties:change-duty", args=[duty.pk])
    sent = filled(client.get(address).context["form"]) | {f"t{n}_what": "" for n in range(5)} | {"name": ""}
    form = client.post(address, sent).context["form"]
    assert form.touch_count == 5


def test_a_stale_save_shows_both(client, engineer):
    duty = make_duty(engineer, steps=(WantedStep("One"),))
    address = reverse("duties:change-duty", args=[duty.pk])
    stale = filled(client.get(address).context["form"]) | {"name": "Mine", "often": "days", "every": "3"}
    assert change(client, duty, name="Theirs").status_code == 302
    answer = client.post(address, stale)
    seen = said(answer)
    assert answer.status_code == 422
    assert "What is saved now" in seen
    assert "<dd>Theirs</dd>" in seen
    assert "Every so many weeks" in seen
    assert 'value="Mine"' in seen
    assert client.post(address, filled(answer.context["form"]) | {"once": str(uuid4())}).status_code == 302
    assert again(duty).name == "Mine"


def test_a_sheet_is_offered_once_there_are_some_and_kept_till_then(client, engineer, monkeypatch):
    monkeypatch.setattr(sheets, "_question", None)
    duty = make_duty(engineer, sheet="chip")
    page = reverse("duties:duty", args=[duty.pk])
    assert "Hazard sheet" not in said(client.get(page)), "no link leads nowhere"
    assert "sheet" not in client.get(reverse("duties:change-duty", args=[duty.pk])).context["form"].fields
    assert change(client, duty, name="Other").status_code == 302
    assert again(duty).sheet == "chip"
    known = {"chip": Sheet("Cut chip", "/somewhere/"), "gas": Sheet("Nitrogen", "/elsewhere/")}
    sheets.register_sheets(lambda slugs: known if slugs is None else {s: known[s] for s in slugs if s in known})
    assert '<a href="/somewhere/">Cut chip</a>' in said(client.get(page))
    assert change(client, duty, sheet="gas").status_code == 302
    assert again(duty).sheet == "gas"


def test_stopping_and_taking_up_again(client, engineer):
    duty = make_duty(engineer)
    stop = reverse("duties:stop-duty", args=[duty.pk])
    assert "Say why" in said(client.post(stop, {"once": str(uuid4()), "why": ""}))
    assert client.post(stop, {"once": str(uuid4()), "why": "Sold"}).status_code == 302
    seen = said(client.get(reverse("duties:duty", args=[duty.pk])))
    assert "Stopped 3 Mar 2025 by Edvin Maarsk: Sold" in seen
    assert "Do it" not in seen
    assert client.post(reverse("duties:resume-duty", args=[duty.pk]), {"once": str(uuid4())}).status_code == 302
    assert again(duty).is_active


def test_limits_are_shown_in_the_units_they_are_typed_in(client, engineer):
    engineer.pressure_unit = "psi"
    engineer.save()
    duty = make_duty(engineer, steps=(read_step(),))
    form = client.get(reverse("duties:change-duty", args=[duty.pk])).context["form"]
    assert form["s0_low"].value() == "145 psi"
    assert change(client, duty).status_code == 302
    assert steps_of(again(duty))[0].low == pytest.approx(10.0, abs=0.02)


def test_a_meter_it_resets_is_chosen_by_name(client):
    chip = make_meter()
    assert add(client, meter=chip.pk, meter_amount="5", t0_what=f"reset-meter:{chip.pk}").status_code == 302
    duty = Duty.objects.get()
    assert duty.resets_own_meter
    assert WantedTouch("reset-meter", chip.pk)
    assert "Resets the meter" in said(client.get(reverse("duties:change-duty", args=[duty.pk])))


def test_the_trap_shows_its_duty_with_its_level(client, engineer):
    duty = make_trap_duty(engineer, make_meter())
    assert "0.00 g, due at 5 g; the shop&#x27;s limit 12 g" in said(client.get(reverse("duties:duty", args=[duty.pk])))
