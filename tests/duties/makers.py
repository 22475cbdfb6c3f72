"""Makers for duties."""

import io
from datetime import date
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from shop import clock
from shop.duties import actions, meters, photos
from shop.duties.actions import StepDone
from shop.duties.models import Duty, DutyStep, Entry, Meter, Photo, Tick
from shop.duties.rules import Facts, WantedStep, WantedTouch
from shop.people.models import Person
from tests.makers import anyway

WEEKLY = "FREQ=WEEKLY;BYDAY=MO"


def make_meter(key: str = "chip", **other: Any) -> Meter:
    """A meter as the starter content brings it; no action makes one."""
    facts = {
        "chip": {
            "name": "Chip in the trap",
            "unit": "mg",
            "reset_word": "trap emptied",
            "care_at": 6000,
            "hold_at": 12000,
        },
        "line": {"name": "Vacuum line", "unit": "s", "reset_word": "line cleaned", "care_at": 72000, "hold_at": 144000},
        "cut": {"name": "Hours cut", "unit": "s", "reset_word": ""},
        "humid": {"name": "Humid days", "unit": "n", "reset_word": ""},
        "open": {"name": "Oldest open container", "unit": "d", "follows": "the oldest open container"},
    }[key]
    return Meter.objects.create(key=key, **facts | other)


def facts(name: str = "Wipe the ports", **other: Any) -> Facts:
    """A weekly duty, due on Mondays by the plan, unless told otherwise."""
    usual: dict[str, Any] = {"name": name, "rule": WEEKLY, "starts_on": date(2025, 3, 3)}
    return Facts(**usual | other)


def make_duty(by: Person, name: str = "Wipe the ports", **other: Any) -> Duty:
    return actions.add_duty(by=by, once=uuid4(), facts=facts(name, **other))


def make_trap_duty(by: Person, chip: Meter, **other: Any) -> Duty:
    """Falls due at 5 g in the trap, and empties it."""
    usual: dict[str, Any] = {
        "rule": "",
        "meter": chip,
        "meter_amount": 5000,
        "touches": (WantedTouch("reset-meter", chip.pk),),
    }
    return make_duty(by, "Empty the trap", **usual | other)


def read_step(text: str = "Read the gauge", **other: Any) -> WantedStep:
    return WantedStep(text, **{"reads": "Gauge", "quantity": "pressure", "low": 10.0, "high": 15.0} | other)


def steps_of(duty: Duty) -> list[DutyStep]:
    return list(duty.steps.filter(is_active=True))


def done(duty: Duty, *, readings: dict[str, float] | None = None, undone: tuple[str, ...] = ()) -> list[StepDone]:
    """All its steps done, with what was read in them, but for those named."""
    read = readings or {}
    return [
        StepDone(step, step.text not in undone, read.get(step.reads) if step.reads else None) for step in steps_of(duty)
    ]


def do(by: Person, duty: Duty, **other: Any) -> Entry:
    return actions.do_duty(by=by, once=uuid4(), duty=duty, **{"steps": done(duty)} | other)


def put_off(by: Person, duty: Duty, until: date, reason: str = "The pump is away.") -> Entry:
    return actions.put_off_duty(by=by, once=uuid4(), duty=duty, until=until, reason=reason)


def step(by: Person, key: str, amount: int, **other: Any) -> Tick:
    return meters.advance(key=key, amount=amount, by=by, **{"at": clock.now()} | other)


def picture(width: int = 640, height: int = 480, form: str = "JPEG", **saving: Any) -> bytes:
    """A picture as a camera would send it."""
    made = io.BytesIO()
    Image.linear_gradient("L").resize((width, height)).convert("RGB").save(made, form, **saving)
    return made.getvalue()


def photographed(by: Person, duty: Duty) -> Photo:
    """The duty done, with a photograph of its first step."""
    kept = photos.keep(SimpleUploadedFile("a.jpg", picture(), "image/jpeg"))
    steps = [StepDone(step, True, photo=kept if not place else None) for place, step in enumerate(steps_of(duty))]
    return anyway(actions.do_duty, by=by, duty=duty, steps=steps).photos.get()


def again(duty: Duty) -> Duty:
    return Duty.objects.select_related("meter", "last_entry").get(pk=duty.pk)
