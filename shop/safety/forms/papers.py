"""What papers ask for. The form of labels writes nothing."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

from shop import clock
from shop.people.models import Paper, Person, Room
from shop.press.fields import DayField, NumberField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.safety.models import Substance
from shop.safety.papers import labels
from shop.safety.papers.labels import BY_SLUG, SIZES, Fitted, Size
from shop.wording import in_full

_MOST_COPIES = 112
_FORMS = (
    ("short", "Short: its name and hazards"),
    ("full", "Full: as on a shipped container"),
)


class MakeBinderForm(PressForm):
    paper = forms.ChoiceField(label="Paper", choices=[(paper, paper.label) for paper in Paper])

    def __init__(self, data: Any = None, *, room: Room, size: str = "", **rest: Any) -> None:
        super().__init__(data, **rest)
        self.fields["paper"].initial = size or room.paper


class ContainerLabelsForm(PlainForm):
    """Which labels go on a sheet."""

    substance = forms.ModelMultipleChoiceField(
        Substance.objects.none(), label="What is in them", widget=forms.CheckboxSelectMultiple
    )
    form = forms.ChoiceField(
        label="Form",
        choices=_FORMS,
        initial="short",
        widget=forms.RadioSelect,
        help_text="The short one is for containers that stay in the room.",
    )
    size = forms.ChoiceField(
        label="Size",
        choices=[(size.slug, f"{size.words}, {size.on_a_sheet} on a sheet") for size in SIZES],
        initial="bottle",
    )
    filled_on = DayField(
        label="Filled on", required=False, help_text="For what was filled from a larger container. Else leave it empty."
    )
    filled_by = forms.CharField(label="Filled by", max_length=60, required=False)
    copies = NumberField(label="Of each", low=1, high=_MOST_COPIES, whole=True, initial=1)
    paper = forms.ChoiceField(label="Paper", choices=[(paper, paper.label) for paper in Paper])
    start = NumberField(
        label="Start at label",
        low=1,
        high=max(size.on_a_sheet for size in SIZES),
        whole=True,
        initial=1,
        help_text="For a sheet of which some are used up: counted along the rows, the first at the top left.",
    )

    def __init__(
        self, data: Any = None, *, room: Room, person: Person, ticked: Iterable[int] = (), **rest: Any
    ) -> None:
        super().__init__(data, **rest)
        self.fields["substance"].queryset = Substance.objects.filter(is_active=True)  # type: ignore[attr-defined]
        self.fields["substance"].initial = list(ticked)
        self.fields["paper"].initial = room.paper
        self.fields["filled_by"].initial = person.name

    @property
    def on_size(self) -> Size:
        """The size chosen; for a form without fault."""
        return BY_SLUG[self.cleaned_data["size"]]

    @property
    def filled(self) -> str:
        """Who filled it when, "" where no day is given."""
        day, by = self.cleaned_data["filled_on"], self.cleaned_data["filled_by"]
        if day is None:
            return ""
        return f"Filled {in_full(day)} by {by}" if by else f"Filled {in_full(day)}"

    def clean_filled_on(self) -> Any:
        day = self.cleaned_data["filled_on"]
        if day is not None and day > clock.today():
            raise forms.ValidationError("That is in the future.")
        return day

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or {}
        wanted = len(given.get("substance", ())) * given.get("copies", 1)
        if wanted > labels.MOST_LABELS:
            self.add_error("copies", f"That makes {wanted} labels; at most {labels.MOST_LABELS} are made at a time.")
        if "size" in given and given.get("start", 1) > self.on_size.on_a_sheet:
            self.add_error("start", f"A sheet has {self.on_size.on_a_sheet} labels of that size.")
        if given.get("form") == "full":
            unclassed = [one.name for one in given.get("substance", ()) if one.no_class_why]
            if unclassed:
                self.add_error(
                    "form", f"{' and '.join(unclassed)}: no hazard class is given here. Take the short form."
                )
        return given

    def refuse(self, fitted: Sequence[Fitted]) -> None:
        """Say of each label that has no room on its size which size has some. Raises labels.NoRoom if there is any."""
        tight = [one for one in fitted if one.step is None]
        for one in tight:
            self.add_error("size", _advice(one))
        if tight:
            raise labels.NoRoom

    @property
    def http_status(self) -> int:
        return 422 if self.is_bound and self.errors else 200


def _advice(one: Fitted) -> str:
    least = labels.TYPES[-1]
    said = f"{one.label.name}: its text has no room on {one.size.words}, in type of {least:g} points."
    larger = labels.sizes_that_fit(one.label)
    if larger:
        said += f" It has on {larger[0].words}."
    elif one.label.is_full:
        said += " It has on none of the sizes."
    if one.label.is_full:
        said += " Or take the short form, for a container that stays in the room."
    return said
