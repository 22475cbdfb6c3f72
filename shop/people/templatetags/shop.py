"""Tags known to every template: quantities in the reader's unit, grades, levels, and what forms are made of."""

from collections.abc import Iterable
from datetime import datetime, time
from typing import Any, Protocol

from django import forms, template
from django.contrib.messages.storage.base import Message
from django.forms.boundfield import BoundField
from django.template.context import Context
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from shop.calc import units
from shop.concern import Concern, Grade, Quantity, StoredConcern, restored
from shop.people.fields import retold, stamped_words, unit_for
from shop.people.models import Room, Units
from shop.people.navigation import opens
from shop.people.navigation import places as places_for
from shop.press.fields import MomentInput
from shop.press.rows import RowForm

register = template.Library()


class Tellable(Protocol):
    """A concern, or what keeps one."""

    @property
    def quantities(self) -> Iterable[Quantity]: ...


#: Shapes that read at arm's length without colour: an open ring, a solid diamond, a solid square, a disc.
_SHAPES = {
    "note": '<circle cx="8" cy="8" r="5" fill="none" stroke="currentColor" stroke-width="2.5"/>',
    "care": '<path d="M8 0.8 15.2 8 8 15.2 0.8 8Z" fill="currentColor"/>',
    "hold": '<path d="M1.2 1.2H14.8V14.8H1.2Z" fill="currentColor"/>',
    "clear": (
        '<circle cx="8" cy="8" r="7" fill="none" stroke="currentColor" stroke-width="1.5"/>'
        '<circle cx="8" cy="8" r="4" fill="none" stroke="currentColor" stroke-width="0.8"/>'
        '<circle cx="8" cy="8" r="1.4" fill="currentColor"/>'
    ),
}


def _shape(name: str) -> SafeString:
    return mark_safe(
        f'<svg class="shape" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true" focusable="false">'
        f"{_SHAPES[name]}</svg>"
    )


def _reader(context: Context) -> Units:
    """Whose units to speak: `reader` where one was given (paper), else whoever is signed in, else the room."""
    for name in ("reader", "user", "room"):
        found = context.get(name)
        if isinstance(found, Units):
            return found
    return Room()


@register.simple_tag(takes_context=True)
def quantity(context: Context, value: float | None, kind: str) -> str:
    """A stored value of a kind of shop.calc.units in the reader's unit, with the unit; a dash for None."""
    if value is None:
        return "–"
    return units.show(kind, value, unit_for(kind, _reader(context)))


@register.simple_tag(takes_context=True)
def stamped(context: Context, litres: float) -> str:
    """A size that is stamped in litres, in the reader's unit beside it."""
    return stamped_words(litres, _reader(context))


@register.simple_tag(takes_context=True)
def long_groove(context: Context, metres: float) -> str:
    """What a stylus cut in all: "10.73 km", or in miles for who reads lengths in inches."""
    unit = "mi" if unit_for("groove_length", _reader(context)) == "ft" else "km"
    return units.show("groove_length", metres, unit)


@register.simple_tag(takes_context=True)
def unit(context: Context, kind: str) -> str:
    """The reader's unit for a kind of quantity, as written."""
    return units.label(kind, unit_for(kind, _reader(context)))


@register.simple_tag
def grade(given: Grade | int, word: str = "") -> SafeString:
    """A grade by shape and word. word: what to write instead of the grade's own."""
    name = Grade(given).word
    return format_html('<span class="grade grade-{}">{}<b>{}</b></span>', name, _shape(name), word or name)


@register.simple_tag
def verdict(given: str) -> SafeString:
    """A verdict ("clear", "care", "hold"; a morning.models.Verdict) by shape and words, large."""
    words = {"clear": "Clear to cut", "care": "Cut with care", "hold": "Hold"}
    name = str(given)
    return format_html('<p class="verdict verdict-{}">{}<b>{}</b></p>', name, _shape(name), words[name])


@register.simple_tag(takes_context=True)
def told(context: Context, given: Tellable | StoredConcern, part: str) -> str:
    """A text of a concern or an alert ("headline", "reason", "what_to_do"), its quantities in the reader's units."""
    one = restored(given) if isinstance(given, dict) else given
    return retold(getattr(one, part), one.quantities, _reader(context))


@register.simple_tag(takes_context=True)
def way(context: Context, address: str) -> str:
    """The address, if its page is for whoever reads; else empty."""
    return address if opens(address, getattr(context.get("user"), "role", "")) else ""


@register.inclusion_tag("parts/concern.html", takes_context=True)
def concern(context: Context, given: Concern | StoredConcern, heading: int = 3) -> dict[str, Any]:
    """A whole concern: a Concern, or one as stored with a check. heading: the level of its headline. What to do is a
    link for those whom its page is for."""
    stored = given.stored() if isinstance(given, Concern) else given
    by = timezone.localtime(datetime.fromisoformat(stored["by"])) if stored["by"] else None
    act, _, more = told(context, given, "what_to_do").partition(". ")
    return {
        "concern": stored,
        "link": way(context, stored["link"]),
        "headline": told(context, given, "headline"),
        "reason": told(context, given, "reason"),
        "name": Grade(stored["grade"]).word,
        "by": by,
        "by_day": by is not None and by.time() == time(),  # a day, not a moment of it
        "act": f"{act}." if more else act,
        "more": more,
        "heading": heading,
    }


@register.simple_tag
def level(share: float | None, text: str = "", mark: float | None = None) -> SafeString:
    """A level drawn as one. share: 0 to 1 of full (cut off there); text: its words; mark: a share to draw a line at."""
    if share is None:
        return format_html('<span class="level-words">{}</span>', text)
    width = round(100 * min(1.0, max(0.0, share)), 2)
    low = mark is not None and share < mark
    line = (
        format_html('<path class="level-mark" d="M{0} 0V12" vector-effect="non-scaling-stroke"/>', round(100 * mark, 2))
        if mark is not None
        else ""
    )
    return format_html(
        '<span class="level{}"><svg viewBox="0 0 100 12" preserveAspectRatio="none" aria-hidden="true" '
        'focusable="false"><rect class="level-of" width="100" height="12"/>'
        '<rect class="level-is" width="{}" height="12"/>'
        '<path class="level-scale" d="M25 0V4M50 0V6M75 0V4" vector-effect="non-scaling-stroke"/>{}</svg>'
        '<span class="level-words">{}</span></span>',
        " level-low" if low else "",
        width,
        line,
        text,
    )


@register.simple_tag(takes_context=True)
def places(context: Context) -> list[dict[str, object]]:
    """The main places, for the navigation."""
    return places_for(context["request"])


@register.filter
def once_each(messages: Iterable[Message]) -> list[Message]:
    """Messages without repeats: a press that was repeated after a lost answer has said its sentence twice."""
    return list({str(message): message for message in messages}.values())


# What forms are made of -----------------------------------------------------------------------------------------------


def _first_control(field: BoundField) -> str:
    """The id a link to the field should go to."""
    widget, auto_id = field.field.widget, field.auto_id
    if isinstance(widget, forms.RadioSelect | forms.CheckboxSelectMultiple):
        return f"{auto_id}_0"
    return widget.id_for_label(auto_id) or auto_id


@register.filter
def first_control(field: BoundField) -> str:
    return _first_control(field)


@register.filter
def error_lines(form: forms.BaseForm) -> list[dict[str, str]]:
    """Each refusal of a form in the words it has at its field, with the id to go to ("" for the form's own)."""
    lines = []
    for name, errors in form.errors.items():
        field = form[name] if name in form.fields else None
        to = _first_control(field) if field is not None and not field.is_hidden else ""
        label = str(field.label).rstrip(":") if field is not None and to else ""
        row = form.row_of(name) if label and isinstance(form, RowForm) else ""
        label = f"{row}, {label}" if row else label
        label += " " if label.endswith("?") else ": " if label else ""
        lines += [{"to": to, "label": label, "sentence": str(sentence)} for sentence in errors]
    return lines


@register.filter
def groups(form: forms.BaseForm) -> list[dict[str, Any]]:
    """The visible fields under the legends of form.fieldsets; those it leaves out come last, without one."""
    named = getattr(form, "fieldsets", None) or []
    found = [{"legend": legend, "fields": [form[n] for n in names if n in form.fields]} for legend, names in named]
    taken = {name for _, names in named for name in names}
    rest = [field for field in form.visible_fields() if field.name not in taken]
    return [group for group in [*found, {"legend": "", "fields": rest}] if group["fields"]]


@register.filter
def doubts_at(form: forms.BaseForm, name: str) -> list[Any]:
    """The open doubts about a field; with "" those that belong to none shown."""
    return [d for d in getattr(form, "doubts", ()) if d.field == name or (not name and d.field not in form.fields)]


@register.filter
def which_of_two(field: BoundField) -> list[Any]:
    """The choice between two moments, where a time was given that came twice as the clocks went back."""
    widget = field.field.widget
    return widget.choices_of(field.html_name, field.value()) if isinstance(widget, MomentInput) else []


@register.filter
def sure_before(form: forms.BaseForm) -> list[str]:
    """Keys confirmed at an earlier press, to be sent along again."""
    asked = {doubt.key for doubt in getattr(form, "doubts", ())}
    return [key for key in getattr(form, "sure_keys", ()) if key not in asked]


@register.filter
def field_kind(field: BoundField) -> str:
    """How parts/field.html lays a field out: "tick", "choices", "group" or "box"."""
    widget = field.field.widget
    if isinstance(widget, forms.CheckboxInput):
        return "tick"
    if isinstance(widget, forms.RadioSelect | forms.CheckboxSelectMultiple):
        return "choices"
    return "group" if widget.use_fieldset else "box"


@register.filter
def field_unit(field: BoundField) -> str:
    """The unit to write beside the box, as written."""
    return getattr(field.field, "unit_label", None) or getattr(field.field, "unit", "") or ""


@register.filter
def control(field: BoundField) -> SafeString:
    """The field's widget, naming the hints and refusals that describe it."""
    said = [
        f"{field.auto_id}_{part}"
        for part, there in (
            ("error", field.errors),
            ("hint", field.help_text),
            ("before", getattr(field.field, "hint_before", "")),
        )
        if there
    ]
    attrs: dict[str, str | bool] = {"aria-describedby": " ".join(said)} if said else {}
    return field.as_widget(attrs=attrs)
