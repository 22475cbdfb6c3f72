"""Forms of counting. None of them knows what the ledger says, but the one that explains differences."""

from collections.abc import Sequence
from typing import Any

from django import forms

from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.fields import MomentField
from shop.press.forms import PressForm
from shop.stock import queries
from shop.stock.actions.counts import Counted, Explained
from shop.stock.forms.fields import amount_field
from shop.stock.models import CountLine, Item, ItemKind
from shop.stock.queries import Compared


class StartCountForm(PressForm):
    which = forms.ChoiceField(
        label="What is counted",
        choices=[("all", "Everything on hand"), ("kind", "One kind of item"), ("items", "Some items")],
        initial="all",
        widget=forms.RadioSelect,
    )
    kind = forms.ChoiceField(label="Which kind", choices=[("", "Choose"), *ItemKind.choices], required=False)
    items = forms.ModelMultipleChoiceField(
        Item.objects.filter(lots__on_hand__gt=0).distinct().order_by("name"),
        label="Which items",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def typed(self) -> dict[str, Any]:
        said = super().typed()
        return said | {"items": list(said["items"])}


class EnterCountForm(PressForm):
    """A box for each of some lines of a count; those left empty stay as they are. What the person counted of one
    themselves stands in its box: that is no figure of the ledger's, nor another's."""

    at = MomentField(label="When it was counted, if not just now")

    def __init__(self, data: Any = None, *, person: Person, lines: Sequence[CountLine], **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.lines = {f"line-{line.pk}": line for line in lines}
        boxes = {}
        for name, line in self.lines.items():
            box = amount_field(line.lot.item, label=f"{line.lot.item.name}, lot {line.lot.code}", low=0, required=False)
            if isinstance(box, QuantityField):
                box.speak_to(person)
            told = queries.last_tally(line)
            if told is not None and told.by_id == person.pk:
                box.initial = told.counted
            boxes[name] = box
        self.fields = {**boxes, **self.fields}

    @property
    def places(self) -> list[dict[str, Any]]:
        """The boxes by where their items stand, for the page."""
        found: list[dict[str, Any]] = []
        for name, line in self.lines.items():
            place = line.lot.item.place
            if not found or found[-1]["place"] != place:
                found.append({"place": place, "boxes": []})
            found[-1]["boxes"].append({"field": self[name], "line": line})
        return found

    def typed(self) -> dict[str, Any]:
        said = super().typed()
        numbers = {name: said.pop(name) for name in self.lines}
        return said | {"counted": [Counted(self.lines[name], n) for name, n in numbers.items() if n is not None]}


class AddToCountForm(PressForm):
    code = forms.CharField(
        label="Lot code on the box",
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )
    item = forms.ModelChoiceField(
        Item.objects.order_by("name"),
        label="Of which item",
        required=False,
        empty_label="Only needed where several have that code",
    )


class GiveInCountForm(PressForm):
    pass


class ExplainCountForm(PressForm):
    """A box for the reason of each difference."""

    def __init__(self, data: Any = None, *, person: Person, differing: Sequence[Compared], **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.differing = {f"line-{one.line.pk}": one for one in differing}
        for name, one in self.differing.items():
            label = f"Why lot {one.line.lot.code} differs"
            self.fields[name] = forms.CharField(label=label, max_length=300, required=False, initial=one.line.reason)

    @property
    def boxes(self) -> list[dict[str, Any]]:
        return [{"field": self[name], "one": one} for name, one in self.differing.items()]

    def typed(self) -> dict[str, Any]:
        said = super().typed()
        reasons = {name: said.pop(name) for name in self.differing}
        return said | {"reasons": [Explained(self.differing[name].line, said) for name, said in reasons.items()]}


class AgreeCountForm(PressForm):
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: Any = None, *, person: Person, seen: str = "", **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.fields["seen"].initial = seen


class DropCountForm(PressForm):
    why = forms.CharField(label="Why", max_length=300, required=False)
