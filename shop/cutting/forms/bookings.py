"""Forms about bookings, and the free plan of a side."""

from typing import Any

from django import forms

from shop import clock
from shop.cutting import plans, queries, wording
from shop.cutting.actions import WantedSide
from shop.cutting.actions.bookings import MOST_SIDES, length_of_pauses
from shop.cutting.fields import MinutesField, PitchField, TitlesField
from shop.cutting.models import Booking, BookingSide, DiscSize, Speed
from shop.people.fields import QuantityField
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, NumberField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.press.rows import RowForm
from shop.stock.models import BlankSize

#: What a row may say differently from the booking: (name, what it is in WantedSide).
DIFFERS = ("disc_in", "speed", "blank_in", "width_um", "land_um")
#: What a row may say of its music besides the length.
MUSIC = ("titles", "level_note")


def _choice(label: str, choices: Any, *, whole: bool, may: str = "", **rest: Any) -> forms.TypedChoiceField:
    """A select; with `may`, one that may be left at that."""
    shown = [("", may), *choices] if may else list(choices)
    return forms.TypedChoiceField(
        label=label, choices=shown, coerce=int if whole else str, empty_value=None, required=not may, **rest
    )


class BookingForm(RowForm):
    """What a booking is, what its sides have in common, and a row for each side with what differs."""

    code = forms.CharField(label="Code", max_length=30)
    title = forms.CharField(label="Title", max_length=120)
    customer = forms.CharField(label="For whom", max_length=120, required=False)
    cut_on = DayField(label="To be cut on")
    note = forms.CharField(label="Note", max_length=500, required=False)
    disc_in = _choice("Record size", DiscSize.choices, whole=True, initial=DiscSize.TWELVE)
    speed = _choice("Speed", Speed.choices, whole=False, initial=Speed.LP)
    width_um = QuantityField(
        "groove", label="Groove width", low=plans.WIDTH_UM[0], high=plans.WIDTH_UM[1], initial=56.0
    )
    land_um = QuantityField(
        "groove", label="Land between, for the swing", low=plans.LAND_UM[0], high=plans.LAND_UM[1], initial=40.0
    )
    #: Where the action's refusals about the sides land.
    sides = forms.Field(required=False, widget=forms.HiddenInput)

    not_typed = ("rows", "sides", "disc_in", "speed", "width_um", "land_um")

    stem = "s"
    most_rows = MOST_SIDES

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        return {
            "label": forms.CharField(label="Side", max_length=4, required=False, initial=_letter(place)),
            "play_s": MinutesField(label="Length", required=False, low_s=plans.CUT_S[0], high_s=plans.CUT_S[1]),
            "titles": TitlesField(
                label="Titles",
                high_s=plans.CUT_S[1],
                help_text="A line each, as “3:41 Name”; the name may be left out. They give the length, if none is.",
            ),
            "level_note": forms.CharField(
                label="Loudest passage",
                max_length=200,
                required=False,
                help_text="Where, and how loud: “B2 from 1:10, brass, +2 dB”.",
            ),
            "disc_in": _choice("Record size", DiscSize.choices, whole=True, may="as above"),
            "speed": _choice("Speed", Speed.choices, whole=False, may="as above"),
            "blank_in": _choice("Blank", BlankSize.choices, whole=True, may="as usual"),
            "width_um": QuantityField(
                "groove", label="Groove width", required=False, low=plans.WIDTH_UM[0], high=plans.WIDTH_UM[1]
            ),
            "land_um": QuantityField(
                "groove",
                label="Land between, for the swing",
                required=False,
                low=plans.LAND_UM[0],
                high=plans.LAND_UM[1],
            ),
        }

    def row_named(self, place: int) -> str:
        return f"Side {str(self[self.box(place, 'label')].value() or '').strip() or _letter(place)}"

    @property
    def side_rows(self) -> list[dict[str, Any]]:
        """Each row for the page: its two boxes, those that say what differs, and whether to show these open."""
        found = []
        for place in range(self.row_count):
            boxes = self.row_boxes(place)
            differs = [boxes[name] for name in DIFFERS]
            music = [boxes[name] for name in MUSIC]
            found.append(
                {
                    "number": place + 1,
                    "label": boxes["label"],
                    "play_s": boxes["play_s"],
                    "differs": differs,
                    "open": any(box.value() not in (None, "") or box.errors for box in differs),
                    "music": music,
                    "music_open": any(box.value() or box.errors for box in music),
                }
            )
        return found

    def clean(self) -> dict[str, Any]:
        """The same side twice is said at the second one's box; the action would only know of the sides as a whole."""
        told = super().clean() or {}
        seen: set[str] = set()
        for place in range(self.row_count):
            length, titles = told.get(f"s{place}_play_s"), told.get(f"s{place}_titles")
            if length is None and not titles:
                continue
            if length is not None and titles and length < (sung := sum(title.play_s for title in titles)):
                self.add_error(
                    f"s{place}_play_s", f"Its titles take {wording.minutes_words(sung)}, which is longer than that."
                )
            label = told.get(f"s{place}_label") or _letter(place)
            if label.casefold() in seen:
                self.add_error(f"s{place}_label", f"Side {label.upper()} is there twice. Give this one another letter.")
            seen.add(label.casefold())
        return told

    def typed(self) -> dict[str, Any]:
        return super().typed() | {"sides": self.typed_sides()}

    def typed_sides(self) -> list[WantedSide]:
        """The rows that have a length, or titles."""
        said = self.cleaned_data
        found: list[WantedSide] = []
        self.places = []
        for place in range(self.row_count):
            row = self.row_said(place)
            if row["play_s"] is None and not row["titles"]:
                continue
            self.places.append(place)

            def or_all(name: str, row: dict[str, Any] = row) -> Any:
                return row[name] if row[name] not in (None, "") else said[name]

            found.append(
                WantedSide(
                    label=row["label"] or _letter(place),
                    play_s=row["play_s"],
                    disc_in=or_all("disc_in"),
                    speed=or_all("speed"),
                    blank_in=row["blank_in"],
                    width_um=or_all("width_um"),
                    land_um=or_all("land_um"),
                    level_note=row["level_note"],
                    titles=row["titles"],
                )
            )
        return found


class AddBookingForm(BookingForm):
    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.fields["code"].initial = queries.next_code
        self.fields["cut_on"].initial = clock.today


class ChangeBookingForm(BookingForm, ChangeForm):
    """The booking as it stands; what most sides have in common is taken from the first."""

    def __init__(self, data: Any = None, *, person: Any, row: Booking, **rest: Any) -> None:
        sides = list(row.wanted.order_by("label", "id"))
        first: dict[str, Any] = {}
        if sides:
            first |= {name: getattr(sides[0], name) for name in ("disc_in", "speed", "width_um", "land_um")}
        for place, side in enumerate(sides):
            first |= {f"s{place}_{name}": value for name, value in _row_of(side, sides[0]).items()}
        super().__init__(data, person=person, row=row, rows=max(len(sides), 1), initial=first, **rest)

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        found = list(super().saved_facts)
        if isinstance(self.saved, Booking):
            sides = [
                f"{side.label} {wording.minutes_words(side.play_s)}" for side in self.saved.wanted.order_by("label")
            ]
            found.append(("Sides", ", ".join(sides)))
        return found


def _row_of(side: BookingSide, first: BookingSide) -> dict[str, Any]:
    """A kept side as its row: what is as in the first side, or as usual, is left at that."""
    row: dict[str, Any] = {
        "label": side.label,
        "play_s": side.play_s,
        "titles": side.titles,
        "level_note": side.level_note,
    }
    for name in ("disc_in", "speed", "width_um", "land_um"):
        if getattr(side, name) != getattr(first, name):
            row[name] = getattr(side, name)
    if side.blank_in != plans.blank_for(side.disc_in):
        row["blank_in"] = side.blank_in
    return row


def _letter(place: int) -> str:
    return chr(ord("A") + place) if place < 26 else str(place + 1)


class FinishBookingForm(PressForm):
    pass


class CancelBookingForm(PressForm):
    note = forms.CharField(label="Why", max_length=300, required=False)


class ReopenBookingForm(PressForm):
    pass


class PlanSideForm(PlainForm):
    """Figures to try: nothing is written, so it is sent by GET and may be kept as a link."""

    minutes = MinutesField(label="Length", low_s=plans.CUT_S[0], high_s=plans.CUT_S[1])
    disc_in = _choice("Record size", DiscSize.choices, whole=True)
    speed = _choice("Speed", Speed.choices, whole=False)
    width_um = QuantityField("groove", label="Groove width", low=plans.WIDTH_UM[0], high=plans.WIDTH_UM[1])
    land_um = QuantityField("groove", label="Land between, for the swing", low=plans.LAND_UM[0], high=plans.LAND_UM[1])
    titles = NumberField(
        label="Titles",
        low=1,
        high=plans.MOST_TITLES,
        whole=True,
        required=False,
        help_text="With a band between each two. Empty for one.",
    )
    pitch_um = PitchField(
        label="Pitch",
        required=False,
        low=plans.PITCH_UM[0],
        high=plans.PITCH_UM[1],
        help_text="Lines per inch, or µm with the unit after it. Empty for the one that fills the disc.",
    )

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, **rest)
        for field in self.fields.values():
            if hasattr(field, "speak_to"):
                field.speak_to(person)

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        pitch, width = told.get("pitch_um"), told.get("width_um")
        if pitch is not None and width is not None and pitch < width:
            self.add_error("pitch_um", "Grooves that wide would overlap at that pitch: fewer lines per inch.")
        titles, play_s = told.get("titles") or 1, told.get("minutes")
        if play_s is not None and (pauses := length_of_pauses(int(titles))) >= play_s:
            self.add_error(
                "titles",
                f"{titles:.0f} titles have {wording.minutes_words(pauses)} of pauses between them, by the room's own "
                f"figures: nothing of {wording.minutes_words(play_s)} is left for music.",
            )
        return told
