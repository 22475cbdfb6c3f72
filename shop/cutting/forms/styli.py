"""Forms about styli."""

from typing import Any

from django import forms
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from shop import clock
from shop.cutting import queries
from shop.cutting.actions.lists import LEVEL_DB
from shop.cutting.actions.styli import BEFORE_H, TIP_ANGLE_DEG
from shop.cutting.fields import TipRadiusField
from shop.cutting.models import CameBack, EndReason, Fitting, Lathe, NoiseLevel, Side, Stylus, StylusKind
from shop.cutting.wording import level_words
from shop.duties import photos
from shop.duties.forms.photos import PhotoField
from shop.people.eyes import UnderEye
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.stock.forms.fields import CostField
from shop.stock.models import Lot, Supplier


class LotChoice(forms.ModelChoiceField):
    def label_from_instance(self, lot: Lot) -> str:
        state = "On hold · " if lot.is_held else "Past its date · " if lot.is_past_date(clock.today()) else ""
        return f"{state}{lot.item}, lot {lot.code} ({lot.on_hand} left)"


class TipFields(PlainForm):
    """What a tip measures, what its edge had cut before it was kept here, and of a stylus that came out of no stock lot
    from whom it came and for how much."""

    before_h = NumberField(
        label="Hours its edge had cut before it came here",
        low=BEFORE_H[0],
        high=BEFORE_H[1],
        unit="h",
        required=False,
        initial=0,
        help_text="0 for a fresh edge. Empty if nobody knows: then nothing is claimed of the hours it has left.",
    )
    tip_radius_um = TipRadiusField(help_text="As its maker gives it, or as measured. Empty: as usual for its kind.")
    tip_angle_deg = NumberField(
        label="Angle of the tip", low=TIP_ANGLE_DEG[0], high=TIP_ANGLE_DEG[1], unit="°", required=False
    )
    supplier = forms.ModelChoiceField(
        Supplier.objects.order_by("name"), label="From", required=False, empty_label="not known"
    )
    price = CostField(
        label="Price",
        low=0,
        high=999_999,
        required=False,
        help_text="As new, even if its edge had cut before: each hour bears its share of a whole life.",
    )
    note = forms.CharField(label="Note", max_length=300, required=False)


class AddStylusForm(TipFields, PressForm):
    field_order = ("mark", "kind", "before_h", "lot", "received_on")

    mark = forms.CharField(label="Mark on the box or shank", max_length=40)
    kind = forms.ModelChoiceField(StylusKind.objects.filter(is_active=True), label="Kind", empty_label=None)
    lot = LotChoice(
        Lot.objects.none(),
        label="Out of stock lot",
        required=False,
        empty_label="none: it was not kept in stock",
        help_text="One is used from that lot, which says from whom it came and for how much.",
    )
    received_on = DayField(label="Came in on")

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        lots = queries.stylus_lots()
        self.fields["lot"].queryset = lots  # type: ignore[attr-defined]
        if not lots:
            del self.fields["lot"]
        self.fields["received_on"].initial = clock.today


class ChangeStylusForm(TipFields, ChangeForm):
    def __init__(self, data: Any = None, *, person: Any, row: Stylus, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        if row.lot_id is not None:
            del self.fields["supplier"], self.fields["price"]

    def kept(self, row: Stylus) -> dict[str, Any]:
        return {**super().kept(row), "before_h": row.before_h}


class FitStylusForm(UnderEye, PressForm):
    act = "fit-stylus"

    lathe = forms.ModelChoiceField(
        Lathe.objects.filter(is_active=True), label="Lathe", empty_label=None, widget=forms.RadioSelect
    )
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        full = Exists(Fitting.objects.filter(lathe=OuterRef("pk"), off_at__isnull=True))
        # One whose head is empty first: into another nothing goes.
        first = Lathe.objects.filter(is_active=True).order_by(full, "name").first()
        if first is not None:
            self.fields["lathe"].initial = first.pk


class TakeOffStylusForm(PressForm):
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)


class LookOverStylusForm(PressForm):
    seen = forms.CharField(
        label="What was seen", max_length=300, help_text="Kept with your name and the time, beside the stylus's life."
    )


class RetireStylusForm(PressForm):
    reason = forms.ChoiceField(
        label="Why",
        choices=EndReason.choices,
        widget=forms.RadioSelect,
        help_text="Only “worn or noisy” counts as an end for expected life; the others say “at least so long”.",
    )
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)


class ReinstateStylusForm(PressForm):
    pass


class SendStylusAwayForm(PressForm):
    sent_to = forms.CharField(label="To whom", max_length=120, help_text="Who re-laps it.")
    reason = forms.ChoiceField(
        label="Why this edge has come to its end",
        choices=[choice for choice in EndReason.choices if choice[0] != EndReason.LOST],
        widget=forms.RadioSelect,
        help_text="Only “worn or noisy” counts as an end for expected life; the others say “at least so long”.",
    )
    back_due = DayField(label="Due back on", required=False)
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, data: Any = None, *, person: Any, has_life: bool, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        if not has_life and not self.data.get("reason"):  # a press that is repeated says it again
            del self.fields["reason"]


class TakeStylusBackForm(PressForm):
    came_back = forms.ChoiceField(label="What came back", choices=CameBack.choices, widget=forms.RadioSelect)
    price = CostField(
        label="Price of the re-lapping", low=0, high=999_999, required=False, help_text="What the fresh edge cost."
    )
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)


class AddTipPhotoForm(PressForm):
    """A photograph that came with a press that was refused is kept: the form hands it back."""

    photo = PhotoField(required=True)
    shows = forms.CharField(
        label="What it shows",
        max_length=300,
        required=False,
        help_text="Which side of the tip, and how many times larger.",
    )
    at = MomentField(label="When it was taken, if not just now")

    def __init__(self, data: Any = None, files: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, files=files, person=person, **rest)
        self.kept = photos.from_ticket(self.data.get("photo_kept", ""), person.pk) if self.is_bound else None
        self.fields["photo"].required = self.kept is None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("photo"):
            self.kept = cleaned["photo"]
        elif self.kept is not None:
            cleaned["photo"] = self.kept
        return cleaned

    @property
    def ticket(self) -> str:
        return photos.ticket(self.kept, self.person.pk) if self.kept is not None else ""


class OverruleAdviceForm(PressForm):
    reason = forms.CharField(
        label="Why it goes on", max_length=300, help_text="Kept with your name, the time and the advice as it stands."
    )


class SideChoice(forms.ModelChoiceField):
    def label_from_instance(self, side: Side) -> str:
        local = timezone.localtime(side.at)
        return f"{side.wanted or 'without a booking'}, ended {local:%H:%M} on {local.day} {local:%b}"


class AddNoiseLevelForm(PressForm):
    level_db = NumberField(
        label="Level of the silent groove",
        low=LEVEL_DB[0],
        high=LEVEL_DB[1],
        unit="dB",
        help_text="Against this room's own reference, always taken the same way: −60 is quieter than −55.",
    )
    side = SideChoice(Side.objects.none(), label="On which side", required=False, empty_label="a test cut, on no side")
    at = MomentField(label="When, if not at the end of that side or just now")
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(
        self, data: Any = None, *, person: Any, sides: QuerySet[Side], last: NoiseLevel | None, **rest: Any
    ) -> None:
        super().__init__(data, person=person, **rest)
        field: Any = self.fields["side"]
        field.queryset = sides
        if last is not None:
            self.fields["level_db"].hint_before = f"Last: {level_words(last.level_db)}"  # type: ignore[attr-defined]


class StrikeNoiseLevelForm(PressForm):
    why = forms.CharField(label="Why it is struck out", max_length=300)
