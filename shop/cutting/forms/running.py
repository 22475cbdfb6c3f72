"""Forms of a side that is being cut: start, stop, what became of it, or that it was not cut."""

from datetime import UTC, datetime, timedelta
from typing import Any

from django import forms

from shop.cutting import plans, queries
from shop.cutting.actions.running import pressed, seconds_of
from shop.cutting.forms.sides import LogSideForm
from shop.cutting.models import BookingSide, RunningSide, Side
from shop.cutting.rules import clock_words
from shop.cutting.wording import age_words, minutes_words
from shop.press.forms import PressForm


class PressedField(forms.Field):
    """When a device was pressed, by the server's clock as the page told it, in milliseconds; cleans to a moment.

    What cannot be one is taken for nothing said: the press counts as of when it arrives.
    """

    widget = forms.HiddenInput

    def to_python(self, value: Any) -> datetime | None:
        text = str(value or "")
        if not (text.isascii() and text.isdigit() and len(text) < 15):
            return None
        return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=int(text))


class PressedForm(PressForm):
    """A press that counts from when it was first made, whatever is asked or refused before it is saved."""

    pressed_at = PressedField(required=False)

    @property
    def first_pressed(self) -> datetime | None:
        """When that was: as the device said, or when it came. None while nothing was pressed."""
        if not self.is_bound:
            return None
        return pressed(self.fields["pressed_at"].clean(self.data.get(self.add_prefix("pressed_at"))))


class StartSideForm(PressedForm, LogSideForm):
    """What is known before the head goes down: the stylus in the head, the blank, and how it is to be cut."""

    at_once = ("stylus", "lot")
    folded = ("disc_in", "speed", "pitch_um", "width_um")

    def __init__(self, data: Any = None, *, person: Any, wanted: BookingSide | None, **rest: Any) -> None:
        super().__init__(data, person=person, wanted=wanted, **rest)
        for name in ("outcome", "reject_reason", "cut_s", "cut_text", "at", "level_db", "note"):
            del self.fields[name]

    def _offer_styli(self) -> None:
        """Those in a head now; first those of lathes on which nothing runs."""
        running = set(queries.open_runs().filter(stopped_at__isnull=True).values_list("lathe", flat=True))
        there = list(queries.fittings().filter(off_at__isnull=True).order_by("lathe__name", "-id"))
        there.sort(key=lambda one: one.lathe_id in running)
        self.fields["stylus"].label = "Lathe, and the stylus in its head"
        self.fields["stylus"].choices = [  # type: ignore[attr-defined]
            (
                one.pk,
                f"{one.lathe}: {one.life.stylus}, {age_words(one.life)} h"
                + (", a side runs on it" if one.lathe_id in running else ""),
            )
            for one in there
        ]
        if there:
            self.fields["stylus"].initial = there[0].pk
        self.none_fitted = not there


class StopSideForm(PressedForm):
    pass


class JudgeSideForm(LogSideForm):
    """What became of a side that was stopped. Where its booking was closed meanwhile, it may be logged without that."""

    without_booking = forms.BooleanField(label="Log it without its booking", required=False)

    at_once: tuple[str, ...] = ("outcome", "reject_reason", "cut_s", "cut_text")
    folded = ("lot", "level_db", "note")

    def __init__(self, data: Any = None, *, person: Any, run: RunningSide, **rest: Any) -> None:
        super().__init__(data, person=person, wanted=run.wanted, **rest)
        for name in ("wanted", "stylus", "disc_in", "speed", "pitch_um", "width_um", "at"):
            del self.fields[name]
        if run.wanted is None or run.wanted.booking.is_open:
            del self.fields["without_booking"]
        else:
            self.at_once = ("without_booking", *self.at_once)
        lot = self.fields["lot"]
        if not any(key == run.lot_id for key, _ in lot.choices):  # type: ignore[attr-defined]
            lot.choices = [(run.lot_id, f"{run.lot.item.blank_in} inch · {run.lot.code}"), *lot.choices]  # type: ignore[attr-defined]
        lot.initial = run.lot_id
        seconds = seconds_of(run)
        assert run.stopped_at is not None
        #: Whether it was stopped so late that nobody knows how long it was cut.
        self.is_late = seconds > plans.CUT_S[1]
        length = self.fields["cut_s"]
        self.initial["cut_s"] = None if self.is_late else seconds
        length.help_text = (
            f"It was stopped at {clock_words(run.stopped_at)}, too late to tell. Give how long it was cut."
            if self.is_late
            else "From start to stop. Change it if the stop was pressed late."
        )

    def _offer_styli(self) -> None:
        """It is cut already: the stylus that was in the head then is known."""

    def typed(self) -> dict[str, Any]:
        return PressForm.typed(self)


class LoggedSideChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        what = f"{obj.get_outcome_display()}{f': {obj.reject_reason}' if obj.reject_reason else ''}"
        when = f"ended {clock_words(obj.at)}, {minutes_words(obj.cut_s)}"
        return f"{obj.wanted or 'Without a booking'}, {when}. {what}. Lot {obj.lot.code}, by {obj.by}"


class JudgeAsLoggedForm(PressForm):
    """Which of the sides logged since it was begun it is."""

    side = LoggedSideChoice(Side.objects.none(), label="It is", empty_label=None, widget=forms.RadioSelect)

    def __init__(self, data: Any = None, *, person: Any, run: RunningSide) -> None:
        super().__init__(data, person=person)
        there = queries.may_be_of(run)
        self.fields["side"].queryset = there  # type: ignore[attr-defined]
        self.is_none = not there


class DropSideForm(PressForm):
    why = forms.CharField(label="Why it was not cut", max_length=300)
