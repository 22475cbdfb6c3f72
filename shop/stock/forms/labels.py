"""The forms that say which labels go on a sheet. They ask for a paper and write nothing."""

from typing import Any

from django import forms

from shop.people.models import Paper, Room
from shop.press.fields import NumberField
from shop.press.plain import PlainForm
from shop.stock import queries
from shop.stock.labels import GRIDS, MOST_LABELS, Grid
from shop.stock.models import Item, Lot

#: The most of one label that a press makes.
_MOST_COPIES = 99


class LabelsForm(PlainForm):
    """A subclass adds the field `chosen` names, of the rows that get a label."""

    chosen = ""

    copies = NumberField(label="Of each", low=1, high=_MOST_COPIES, whole=True, initial=1)
    paper = forms.ChoiceField(
        label="Paper", choices=[(paper, f"{paper.label}, {GRIDS[paper].on_a_sheet} on a sheet") for paper in Paper]
    )
    start = NumberField(
        label="Start at label",
        low=1,
        high=max(grid.on_a_sheet for grid in GRIDS.values()),
        whole=True,
        initial=1,
        help_text="For a sheet of which some are used up: counted along the rows, the first at the top left.",
    )

    def __init__(self, data: Any = None, *, room: Room, **rest: Any) -> None:
        super().__init__(data, **rest)
        self.fields["paper"].initial = room.paper
        self.order_fields([self.chosen, "copies", "paper", "start"])

    @property
    def grid(self) -> Grid:
        """How the paper chosen is parted; for a form without fault."""
        return GRIDS[Paper(self.cleaned_data["paper"])]

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or {}
        wanted = len(given.get(self.chosen, ())) * given.get("copies", 1)
        if wanted > MOST_LABELS:
            self.add_error("copies", f"That makes {wanted} labels; at most {MOST_LABELS} are made at a time.")
        if "paper" in given and given.get("start", 1) > self.grid.on_a_sheet:
            self.add_error("start", f"A sheet of {given['paper']} has {self.grid.on_a_sheet} labels.")
        return given

    @property
    def http_status(self) -> int:
        return 422 if self.is_bound and self.errors else 200


class _Lots(forms.ModelMultipleChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.code}, {obj.item.name}"


class LotLabelsForm(LabelsForm):
    chosen = "lot"

    lot = _Lots(Lot.objects.none(), label="Lots", widget=forms.CheckboxSelectMultiple)

    def __init__(self, data: Any = None, *, offered: Any, **rest: Any) -> None:
        super().__init__(data, **rest)
        self.fields["lot"].queryset = offered  # type: ignore[attr-defined]
        self.fields["lot"].initial = offered


class ShelfLabelsForm(LabelsForm):
    chosen = "item"

    item = forms.ModelMultipleChoiceField(Item.objects.none(), label="Items", widget=forms.CheckboxSelectMultiple)

    def __init__(self, data: Any = None, *, ticked: Any = None, **rest: Any) -> None:
        super().__init__(data, **rest)
        self.fields["item"].queryset = queries.items().filter(is_active=True)  # type: ignore[attr-defined]
        self.fields["item"].initial = ticked
