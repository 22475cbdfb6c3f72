"""Makers for the morning: a short list, checks, and a room in which nothing is amiss. All by the actions of people."""

from collections.abc import Collection
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.core.management import call_command

from shop import clock
from shop.concern import Grade
from shop.cutting import actions as cutting
from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking, Fitting, Side, StylusKind
from shop.morning import actions
from shop.morning.answers import Given
from shop.morning.models import AnswerKind, Check, Question
from shop.people.models import Person
from shop.room.models import ReadingKind
from tests.room.makers import add_cylinder, connected_cylinder
from tests.stock.makers import make_item, make_lot

EXITS = "Is every way out clear?"
CAN = "Is the lidded can closed?"
LAMP = "Does the lamp over the bench burn?"

#: What the readings of the short list say unless a test says otherwise.
VALUES = {ReadingKind.ROOM_C: 20.0, ReadingKind.ROOM_RH: 45.0, ReadingKind.NITROGEN_BAR: 190.0}


def ask(by: Person, text: str, grade: Grade = Grade.CARE, **other: Any) -> Question:
    facts = {"place": "Door", "kind": AnswerKind.YES_NO, "what_to_do": f"Put right: {text}"} | other
    return actions.add_question(by=by, once=uuid4(), text=text, grade_if_no=grade, **facts)


def ask_reading(by: Person, kind: ReadingKind, grade: Grade = Grade.CARE) -> Question:
    return ask(by, kind.label, grade, place="Gauges", kind=AnswerKind.READING, reading=kind)


def make_list(by: Person) -> dict[str, Question]:
    """A short list: a yes or no of each grade, temperature, humidity, gauge. By text or kind."""
    asked = {
        EXITS: ask(by, EXITS, Grade.HOLD),
        CAN: ask(by, CAN, Grade.CARE),
        LAMP: ask(by, LAMP, Grade.NOTE),
    }
    return asked | {kind: ask_reading(by, kind) for kind in VALUES}


def room_in_order(by: Person) -> None:
    """A full cylinder connected and another behind it: the room's own worries are none."""
    connected_cylinder(by, "N-17")
    add_cylinder(by, "N-18")


def given(
    *,
    no: Collection[str] = (),
    left_out: Collection[str] = (),
    notes: dict[str, str] | None = None,
    **values: float,
) -> list[Given]:
    """An answer to every question now asked: yes, or the usual reading, but for what is named by text or kind."""
    said = notes or {}
    answers = []
    for question in Question.objects.filter(is_active=True):
        name = question.reading or question.text
        note = said.get(name, "")
        if question.kind == AnswerKind.YES_NO:
            answers.append(Given(question, yes=name not in no, note=note))
        elif name in left_out:
            answers.append(Given(question, note=note or "The dial is fogged."))
        else:
            value = values.get(name, VALUES.get(ReadingKind(name), 20.0))
            answers.append(Given(question, value=value, note=note))
    return answers


def make_check(by: Person, *, sure: Collection[str] = (), note: str = "", **answers: Any) -> Check:
    return actions.make_check(by=by, once=uuid4(), answers=given(**answers), note=note, sure=sure)


def correct_check(by: Person, check: Check, *, note: str = "Looked again.", **answers: Any) -> Check:
    return actions.correct_check(by=by, once=uuid4(), check=check, answers=given(**answers), note=note)


def overrule(by: Person, check: Check, reason: str = "The can is outside already.") -> Any:
    return actions.overrule_check(by=by, once=uuid4(), check=check, reason=reason)


def load_starter() -> None:
    call_command("loaddata", "starter_morning", "starter_room", "starter_duties", verbosity=0)


# What the day wants ---------------------------------------------------------------------------------------------------


def book(by: Person, *labels: str, code: str = "B-0001", on: date | None = None, **side: Any) -> Booking:
    """A booking of twelve inch sides of twenty minutes, for today unless told otherwise."""
    return cutting.add_booking(
        by=by,
        once=uuid4(),
        code=code,
        title="Rain on Tin",
        cut_on=on or clock.today(),
        sides=[WantedSide(label=label, **{"play_s": 1200} | side) for label in labels or ("A", "B")],
    )


def fit(by: Person, *, expected_h: float = 20.0, mark: str = "S-1", lathe: str = "Lathe one") -> Fitting:
    """A fresh stylus of that many expected hours in a lathe's head, fitted yesterday."""
    kind = StylusKind.objects.first() or cutting.add_stylus_kind(
        by=by, once=uuid4(), name="Ruby, long shank", expected_h=expected_h
    )
    yesterday = clock.now() - timedelta(days=1)
    return cutting.fit_stylus(
        by=by,
        once=uuid4(),
        stylus=cutting.add_stylus(by=by, once=uuid4(), mark=mark, kind=kind, received_on=clock.day_of(yesterday)),
        lathe=cutting.add_lathe(by=by, once=uuid4(), name=lathe),
        at=yesterday,
    )


def blanks(by: Person, quantity: int = 10, **lot: Any) -> Any:
    return make_lot(by, make_item(by), quantity, **lot)


def cut(by: Person, booking: Booking, label: str = "A", **other: Any) -> Side:
    """Log that side of the booking as cut and good, or as told."""
    wanted = booking.wanted.get(label=label)
    fitting = Fitting.objects.filter(off_at__isnull=True).select_related("lathe").get()
    from shop.stock.queries import first_lot

    lot = first_lot(day=clock.today(), blank_in=wanted.blank_in)
    assert lot is not None
    facts = {
        "wanted": wanted,
        "lathe": fitting.lathe,
        "lot": lot,
        "outcome": "good",
        "cut_s": wanted.play_s,
        "disc_in": wanted.disc_in,
        "speed": wanted.speed,
        "pitch_um": None,
        "width_um": wanted.width_um,
    }
    return cutting.log_side(by=by, once=uuid4(), **facts | other)


# Forms ----------------------------------------------------------------------------------------------------------------


def form_data(page: Any, **typed: str) -> dict[str, Any]:
    """What a browser would send for the check's form on a page: its own token, yes everywhere, and what is typed.

    typed: by question text or kind of reading; the note of one under "<text> note".
    """
    form = page.context["form"]
    data: dict[str, Any] = {"once": str(uuid4()), "asked": form.fingerprint, "note": typed.get("note", "")}
    for question in form.questions:
        name, usual = question.reading or question.text, "yes"
        if question.reading:
            usual = str(VALUES.get(ReadingKind(question.reading), 20))
        data[f"q{question.pk}"] = typed.get(name, usual)
        data[f"q{question.pk}_note"] = typed.get(f"{name} note", "")
    return data
