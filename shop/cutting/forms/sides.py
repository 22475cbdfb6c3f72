"""Forms about sides."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import Case, Q, Value, When

from shop import clock
from shop.cutting import plans, queries
from shop.cutting.actions.checks import OVERRULE
from shop.cutting.actions.lists import LEVEL_DB
from shop.cutting.fields import MinutesField, PitchField
from shop.cutting.models import BookingSide, DiscSize, Fitting, Outcome, RejectReason, Speed
from shop.cutting.wording import age_words
from shop.people.fields import QuantityField
from shop.press.fields import MomentField, NumberField
from shop.press.forms import PressForm
from shop.stock.models import ItemKind, Lot
from shop.stock.queries import PICKING_ORDER

#: How long a stylus that was taken off is still offered, for sides that are logged late.
LATE = timedelta(days=3)


class LogSideForm(PressForm):
    """One side, with all that is known filled in: from the booked side, the head, and the lot to take first."""

    wanted = forms.ModelChoiceField(
        BookingSide.objects.select_related("booking"), required=False, widget=forms.HiddenInput
    )
    outcome = forms.ChoiceField(label="What became of it", choices=Outcome.choices, widget=forms.RadioSelect)
    reject_reason = forms.ModelChoiceField(
        RejectReason.objects.all(),
        label="Why it was rejected",
        empty_label=None,
        widget=forms.RadioSelect,
        error_messages={"required": "Say why it was rejected."},
    )
    cut_s = MinutesField(label="Cut for", low_s=plans.CUT_S[0], high_s=plans.CUT_S[1])
    stylus = forms.ModelChoiceField(
        Fitting.objects.select_related("life__stylus__kind", "lathe"), label="Stylus", empty_label=None
    )
    lot = forms.ModelChoiceField(
        Lot.objects.filter(item__kind=ItemKind.BLANK).select_related("item"), label="Blank from lot", empty_label=None
    )
    cut_text = forms.CharField(label="Text cut in the run-out", max_length=80, required=False)
    disc_in = forms.TypedChoiceField(label="Record size", choices=DiscSize.choices, coerce=int)
    speed = forms.ChoiceField(label="Speed", choices=Speed.choices)
    pitch_um = PitchField(
        label="Pitch, over the side",
        required=False,
        low=plans.PITCH_UM[0],
        high=plans.PITCH_UM[1],
        help_text="Lines per inch, or µm with the unit after it. Empty for the usual one.",
    )
    width_um = QuantityField("groove", label="Groove width", low=plans.WIDTH_UM[0], high=plans.WIDTH_UM[1])
    at = MomentField(label="When it ended, if not just now")
    level_db = NumberField(
        label="Silent groove, if it was measured",
        low=LEVEL_DB[0],
        high=LEVEL_DB[1],
        unit="dB",
        required=False,
        help_text="Its noise against this room's own reference.",
    )
    note = forms.CharField(label="Note", max_length=500, required=False)
    overrule = forms.CharField(
        label="Why it counts all the same",
        max_length=300,
        required=False,
        help_text="Only where a rule is overruled. Kept with the side and your name.",
    )

    #: What the page shows at once, and what it keeps folded away.
    at_once: tuple[str, ...] = ("outcome", "reject_reason", "cut_s", "cut_text", "stylus", "lot")
    folded: tuple[str, ...] = ("disc_in", "speed", "pitch_um", "width_um", "at", "level_db", "note")

    def __init__(self, data: Any = None, *, person: Any, wanted: BookingSide | None, **rest: Any) -> None:
        self.side = wanted
        super().__init__(data, person=person, initial=_first_values(wanted), **rest)
        self.fields["overrule"].is_instead = True  # type: ignore[attr-defined]  # wanted where it is shown
        if not person.is_engineer:
            del self.fields["overrule"]
        if self.is_bound:  # asked of a rejected side only
            self.fields["reject_reason"].required = self.data.get("outcome") == Outcome.REJECTED
        self._offer_styli()
        self._offer_lots(clock.today(), wanted.blank_in if wanted else None)
        reasons = RejectReason.objects.filter(is_active=True)
        self.fields["reject_reason"].choices = [(reason.pk, reason.name) for reason in reasons]  # type: ignore[attr-defined]

    def _offer_styli(self) -> None:
        """Those in a head now, and those taken off lately; any that was ever fitted is understood."""
        recent = queries.fittings().filter(Q(off_at__isnull=True) | Q(off_at__gte=clock.now() - LATE))
        there = list(recent.order_by("-off_at", "lathe__name", "-id"))
        there.sort(key=lambda fitting: fitting.off_at is not None)
        self.fields["stylus"].choices = [(one.pk, _fitting_words(one)) for one in there]  # type: ignore[attr-defined]
        if there:
            self.fields["stylus"].initial = there[0].pk
        self.none_fitted = not any(one.off_at is None for one in there)

    def _offer_lots(self, day: date, blank_in: int | None) -> None:
        """Lots with a blank in them, those to take first on top; any lot of blanks is understood.

        Where none of the size may be used nothing is chosen beforehand. A lot that was chosen and is empty by now
        stays chosen and says so: another is for the person to take.
        """
        fit = Q(held_at__isnull=True) & (Q(last_day__isnull=True) | Q(last_day__gte=day))
        size = Q(item__blank_in=blank_in) if blank_in else Q(item__blank_in__isnull=False)
        chosen = str(self.data.get(self.add_prefix("lot"), "")) if self.is_bound else ""
        own = Q(pk=int(chosen)) if chosen.isascii() and chosen.isdigit() and len(chosen) < 19 else Q()
        there = list(
            Lot.objects.filter(Q(on_hand__gt=0) | own, item__kind=ItemKind.BLANK)
            .select_related("item")
            .order_by(
                Case(When(size & fit, then=Value(0)), When(size, then=Value(1)), default=Value(2)),
                "-item__blank_in",
                *PICKING_ORDER,
            )
        )
        fit_ones = [
            lot
            for lot in there
            if lot.on_hand
            and not lot.is_held
            and not lot.is_past_date(day)
            and (blank_in is None or lot.item.blank_in == blank_in)
        ]
        self.no_blank = not fit_ones
        none_yet = [] if fit_ones else [("", "Choose a lot")]
        self.fields["lot"].choices = [*none_yet, *((lot.pk, _lot_words(lot, day)) for lot in there)]  # type: ignore[attr-defined]
        self.fields["lot"].initial = fit_ones[0].pk if fit_ones else None

    @property
    def fields_at_once(self) -> list[Any]:
        return [self[name] for name in self.at_once]

    @property
    def fields_folded(self) -> list[Any]:
        return [self[name] for name in self.folded]

    @property
    def unfold(self) -> bool:
        """Whether something folded away was refused or asked about."""
        return any(name in self.errors for name in self.folded) if self.is_bound else False

    @property
    def overrulable(self) -> bool:
        """Whether the box for a reason to overrule is worth showing: once something is to be overruled."""
        if "overrule" not in self.fields or not self.is_bound:
            return False
        asked = [*(doubt.key for doubt in self.doubts), *self.sure_keys]
        return any(key.startswith(OVERRULE) for key in asked) or bool(self["overrule"].value())

    def typed(self) -> dict[str, Any]:
        told = super().typed()
        fitting = told["stylus"]
        return told | {"stylus": fitting.life.stylus, "lathe": fitting.lathe}


def _first_values(wanted: BookingSide | None) -> dict[str, Any]:
    if wanted is None:
        return {"disc_in": DiscSize.TWELVE, "speed": Speed.LP, "width_um": 56.0}
    return {
        "wanted": wanted.pk,
        "cut_s": wanted.play_s,
        "disc_in": wanted.disc_in,
        "speed": wanted.speed,
        "width_um": wanted.width_um,
        "pitch_um": plans.estimate(wanted).pitch_um,
    }


def _fitting_words(fitting: Fitting) -> str:
    hours = f"{fitting.life.stylus} in {fitting.lathe}, {age_words(fitting.life)} h"
    return hours if fitting.off_at is None else f"{hours} (taken off)"


def _lot_words(lot: Lot, day: date) -> str:
    """What keeps it from being used comes first: a phone shows only the beginning of a choice."""
    if not lot.on_hand:
        return f"None left · {lot.item.blank_in} inch · {lot.code}"
    words = f"{lot.item.blank_in} inch · {lot.code} · {lot.on_hand} left"
    if lot.is_held:
        return f"On hold · {words}"
    if lot.is_past_date(day):
        return f"Past its date · {words}"
    return f"{words} · until {lot.last_day.day} {lot.last_day:%b %Y}" if lot.last_day else words


class WithdrawSideForm(PressForm):
    reason = forms.CharField(label="Why it was a mistake", max_length=300)
