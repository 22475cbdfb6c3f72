"""The form of a duty: what it is, when it falls due, in which steps, and what it touches."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop import clock
from shop.calc import units
from shop.duties import effects, sheets
from shop.duties.forms.often import OFTEN_FIELDS, OftenForm, often_of, rule_of
from shop.duties.models import FOR_ROLES, Duty, DutyStep, LateGrade, Meter, MeterUnit, StepQuantity
from shop.duties.rules import MOST_STEPS, MOST_TOUCHES, Facts, WantedStep, WantedTouch
from shop.duties.wording import reading_words
from shop.people import authority
from shop.people.fields import QuantityField
from shop.people.models import HANDS, Person
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.press.rows import RowForm

#: Where a refusal of a fact is said, where the form has it in another box.
_SAID_AT = {"for_role": "for_whom", "for_person": "for_whom"}
_STEP = ("text", "reads", "quantity", "unit", "low", "high", "photo")
_TOUCH = ("what", "amount")


def _whole(label: str, high: int, **rest: Any) -> NumberField:
    return NumberField(label=label, low=0, high=high, whole=True, **rest)


class DutyForm(OftenForm, RowForm):
    """A duty, with a row for each step, and boxes for what it touches, which grow in number with the rows."""

    row_name = "Step"

    name = forms.CharField(
        label="What is to be done", max_length=80, help_text="As one says it: “Empty the chip trap”."
    )
    place = forms.CharField(label="Where in the room", max_length=60, required=False)
    why = forms.CharField(
        label="Why it matters", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    meter = forms.ModelChoiceField(Meter.objects.all(), label="Meter", required=False, empty_label="None")
    meter_amount = forms.CharField(
        label="Due at", max_length=20, required=False, help_text="In the meter's own unit: grams, hours, or times."
    )
    early_days = _whole("Days of grace before", 366, initial=0, help_text="Done so much earlier it still counts.")
    late_days = _whole("Days of grace after", 366, initial=0, help_text="Late once they have passed.")
    for_whom = forms.ChoiceField(label="For whom", required=False)
    put_off_limit = _whole("May be put off in a row", 50, initial=2, help_text="So many times; 0 for never.")
    authority = forms.CharField(
        label="Authority it needs",
        max_length=40,
        required=False,
        help_text="The act somebody must be trusted with, such as change-cylinder; empty for none.",
    )
    sheet = forms.ChoiceField(label="Hazard sheet that goes with it", required=False)
    is_critical = forms.BooleanField(
        label="It is safety-critical", required=False, help_text="Only an engineer may then put it off."
    )
    late_grade = forms.TypedChoiceField(
        label="What it weighs once it is late",
        choices=LateGrade.choices,
        coerce=int,
        widget=forms.RadioSelect,
        initial=LateGrade.CARE,
    )
    source = forms.CharField(
        label="Where this is from",
        max_length=200,
        required=False,
        help_text="A rule or a sheet, if there is one; else what it rests on, such as “common practice, no source”.",
    )
    #: Where the action's refusals about the rows land.
    steps = forms.Field(required=False, widget=forms.HiddenInput)
    touches = forms.Field(required=False, widget=forms.HiddenInput)

    stem = "s"
    most_rows = MOST_STEPS

    def __init__(self, data: Any = None, *, person: Person, steps: int = 0, touches: int = 0, **rest: Any) -> None:
        self.steps_kept, self.touches_kept = steps, touches
        super().__init__(data, person=person, rows=steps + 2, **rest)
        self.fields["for_whom"].choices = _people()  # type: ignore[attr-defined]
        listed = sheets.all_sheets()
        if listed:
            chosen = [("", "None"), *((slug, sheet.title) for slug, sheet in listed.items())]
            self.fields["sheet"].choices = chosen  # type: ignore[attr-defined]
        else:
            del self.fields["sheet"]
        if acts := authority.acts():
            self.fields["authority"] = _act_field(acts, self._kept_act())

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        return _step_fields()

    def further_fields(self, sent: Mapping[str, Any]) -> dict[str, forms.Field]:
        """One box for what it touches beyond those that are kept or came, and one more for every two rows that were
        asked for."""
        asked_for = (self.row_count - self.steps_kept - 2) // 2
        came = sum(f"t{place}_what" in sent for place in range(MOST_TOUCHES))
        self.touch_count = min(max(self.touches_kept + 1 + asked_for, came, 1), MOST_TOUCHES)
        what = [("", "Nothing")]
        for effect in effects.every():
            targets = [(f"{effect.kind}:{target.id}", target.name) for target in effect.targets()]
            what.append((f"{effect.verb}:", targets))  # type: ignore[arg-type]
        found: dict[str, forms.Field] = {}
        for place in range(self.touch_count):
            found[f"t{place}_what"] = forms.ChoiceField(label="What", choices=what, required=False)
            found[f"t{place}_amount"] = forms.CharField(label="How much", max_length=20, required=False)
        return found

    @property
    def step_boxes(self) -> list[dict[str, Any]]:
        """Each step's row for the page, and whether to show what it asks for."""
        found = []
        for place in range(self.row_count):
            text, *asks = self.row_boxes(place).values()
            filled = any(box.value() not in (None, "", False, StepQuantity.PLAIN) or box.errors for box in asks)
            found.append({"number": place + 1, "text": text, "asks": asks, "open": filled})
        return found

    @property
    def touch_boxes(self) -> list[list[BoundField]]:
        return [[self[f"t{place}_{name}"] for name in _TOUCH] for place in range(self.touch_count)]

    def field_of(self, name: str | None) -> str | None:
        if name == "rule" and not self.data.get("rule"):
            return super().field_of("until" if self.data.get("until") else "often")
        return super().field_of(_SAID_AT.get(name or "", name))

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        self.wanted_steps = [step for place in range(self.row_count) if (step := self._step(place, said))]
        self.wanted_touches = [touch for place in range(self.touch_count) if (touch := self._touch(place, said))]
        self.wanted_amount = self._meter_amount(said)
        return said

    def _meter_amount(self, said: dict[str, Any]) -> int | None:
        typed, meter = said.get("meter_amount", ""), said.get("meter")
        if not typed or meter is None:
            if typed and "meter" not in self.errors:
                self.add_error("meter", "Choose the meter that this is counted on.")
            return None
        try:
            number, unit = units.parse_number(typed)
        except ValueError as wrong:
            self.add_error("meter_amount", str(wrong))
            return None
        if unit and unit.casefold() != meter.sign.casefold():
            self.add_error("meter_amount", f"This meter counts in {meter.sign or 'whole times'}.")
        elif not 0 < number <= 1_000_000:
            self.add_error("meter_amount", "Give a number above zero, at most a million.")
        return round(number * MeterUnit(meter.unit).kept_per_shown)

    def _step(self, place: int, said: dict[str, Any]) -> WantedStep | None:
        row = {name: said.get(self.box(place, name)) for name in _STEP}
        if not row["text"]:
            if row["reads"] or row["photo"]:
                self.add_error(f"s{place}_text", "Say what is done in this step, or empty the rest of it.")
            return None
        quantity = row["quantity"] or StepQuantity.PLAIN
        edges = {name: self._edge(place, name, row[name] or "", quantity) for name in ("low", "high")}
        if edges["low"] is not None and edges["high"] is not None and edges["low"] > edges["high"]:
            self.add_error(f"s{place}_low", "The lowest that is right lies above the highest.")
        return WantedStep(
            text=row["text"],
            reads=row["reads"] or "",
            quantity=quantity,
            unit=row["unit"] or "",
            wants_photo=bool(row["photo"]),
            **edges,
        )

    def _edge(self, place: int, name: str, typed: str, quantity: str) -> float | None:
        """A limit, typed in the person's unit or with one after it."""
        if not typed:
            return None
        field: NumberField
        if quantity == StepQuantity.PLAIN:
            field = NumberField(required=False, low=-1e6, high=1e6, unit=self.cleaned_data.get(f"s{place}_unit") or "")
        else:
            field = QuantityField(quantity, required=False, low=-1e6, high=1e6)
            field.speak_to(self.person)
        try:
            found = field.clean(typed)
        except forms.ValidationError as wrong:
            self.add_error(f"s{place}_{name}", wrong)
            return None
        return None if found is None else float(found)

    def _touch(self, place: int, said: dict[str, Any]) -> WantedTouch | None:
        kind, _, target = (said.get(f"t{place}_what") or "").partition(":")
        effect = effects.of_kind(kind)
        if effect is None or not target.isdigit():
            return None
        if not effect.measured:
            return WantedTouch(kind, int(target))
        try:
            amount = effect.read_amount(int(target), said.get(f"t{place}_amount") or "", self.person)
        except ValueError as wrong:
            self.add_error(f"t{place}_amount", str(wrong))
            return None
        return WantedTouch(kind, int(target), amount)

    def typed(self) -> dict[str, Any]:
        said = self.cleaned_data
        role, _, person = (said["for_whom"] or "").partition(":")
        facts = Facts(
            **{name: said[name] for name in ("name", "place", "why", "starts_on", "at", "counts_from", "meter")},
            **{name: said[name] for name in ("early_days", "late_days", "put_off_limit", "authority")},
            **{name: said[name] for name in ("is_critical", "late_grade", "source")},
            rule=rule_of(said),
            meter_amount=self.wanted_amount,
            for_role="" if person else role,
            for_person=Person.objects.get(pk=int(person)) if person else None,
            sheet=said["sheet"] if "sheet" in self.fields else self._kept_sheet(),
            steps=tuple(self.wanted_steps),
            touches=tuple(self.wanted_touches),
        )
        return {"facts": facts}

    def _kept_sheet(self) -> str:
        return ""

    def _kept_act(self) -> str:
        return ""


def _act_field(acts: Mapping[str, str], kept: str) -> forms.ChoiceField:
    """The acts to choose from, and the one that the duty asks for already, whatever it is."""
    others = {kept: authority.act_words(kept)} if kept and kept not in acts else {}
    return forms.ChoiceField(
        label="Authority it needs",
        choices=[("", "None"), *acts.items(), *others.items()],
        required=False,
        help_text="The act that somebody must be trusted with to do it alone.",
    )


def _step_fields() -> dict[str, forms.Field]:
    return {
        "text": forms.CharField(label="Step", max_length=200, required=False),
        "reads": forms.CharField(label="Reading to take", max_length=60, required=False),
        "quantity": forms.ChoiceField(label="It measures", choices=StepQuantity.choices, required=False),
        "unit": forms.CharField(label="Unit of a plain number", max_length=12, required=False),
        "low": forms.CharField(label="Lowest that is right", max_length=20, required=False),
        "high": forms.CharField(label="Highest that is right", max_length=20, required=False),
        "photo": forms.BooleanField(label="Ask for a photograph", required=False),
    }


def _people() -> list[tuple[str, str]]:
    """Whoever is there, a role, or a person who works here."""
    roles = [(role, f"Any {label.lower()}") for role, label in FOR_ROLES]
    people = Person.objects.filter(is_active=True, role__in=HANDS)
    return [("", "Whoever is there"), *roles, *((f"person:{one.pk}", one.name) for one in people)]


class AddDutyForm(DutyForm):
    def __init__(self, data: Any = None, **rest: Any) -> None:
        super().__init__(data, **rest)
        self.fields["starts_on"].initial = clock.today


class ChangeDutyForm(DutyForm, ChangeForm):
    """The duty as it stands."""

    not_typed = ("version", "rows")

    def __init__(self, data: Any = None, *, person: Person, row: Duty, **rest: Any) -> None:
        steps = list(row.steps.filter(is_active=True))
        touches = [touch for touch in row.touches.all() if touch.target is not None]
        first: dict[str, Any] = {}
        for place, step in enumerate(steps):
            shown: dict[str, Any] = {
                "text": step.text,
                "reads": step.reads,
                "quantity": step.quantity,
                "unit": step.unit,
            }
            shown |= {"photo": step.wants_photo, "low": _edge_shown(step, step.low, person)}
            shown |= {"high": _edge_shown(step, step.high, person)}
            first |= {f"s{place}_{name}": value for name, value in shown.items()}
        for place, touch in enumerate(touches):
            first[f"t{place}_what"] = f"{touch.kind}:{touch.target}"
            effect = effects.of_kind(touch.kind)
            if effect is not None and touch.amount is not None and touch.target is not None:
                first[f"t{place}_amount"] = effect.shown_amount(touch.target, touch.amount, person)
        super().__init__(data, person=person, row=row, steps=len(steps), touches=len(touches), initial=first, **rest)

    def kept(self, row: Duty) -> dict[str, Any]:
        told = super().kept(row) | often_of(row)
        told["for_whom"] = f"person:{row.for_person_id}" if row.for_person_id else row.for_role
        if row.meter is not None and row.meter_amount is not None:
            told["meter_amount"] = f"{row.meter_amount / MeterUnit(row.meter.unit).kept_per_shown:g}"
        return told

    def _said(self, name: str, value: Any) -> str:
        """A saved value in words; those that a choice stands for, as the choice says it."""
        choices = dict(getattr(self.fields[name], "choices", ()))
        if name in ("often", "which", "for_whom"):
            return str(choices.get(value, value or "–"))
        if name == "weekdays":
            return ", ".join(str(choices.get(day, day)) for day in value) or "–"
        if name in OFTEN_FIELDS or name == "meter_amount":
            return str(value if value not in (None, "") else "–")
        return super()._said(name, value)

    def typed(self) -> dict[str, Any]:
        return super().typed() | {"version": self.cleaned_data["version"]}

    def _kept_sheet(self) -> str:
        return str(self.row.sheet)

    def _kept_act(self) -> str:
        return str(self.row.authority)


def _edge_shown(step: DutyStep, edge: float | None, person: Person) -> str:
    """A limit as this person would type it, its unit after it."""
    return "" if edge is None else reading_words(edge, step, person).replace("\u00a0", " ").replace("\u2212", "-")


class StopDutyForm(PressForm):
    why = forms.CharField(
        label="Why it is stopped", max_length=300, error_messages={"required": "Say why; it is kept with the duty."}
    )


class ResumeDutyForm(PressForm):
    pass
