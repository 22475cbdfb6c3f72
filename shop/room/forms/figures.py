"""Forms of the shop's own figures."""

from typing import Any

from shop.people.fields import QuantityField
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.room.contents import MOST_BAR
from shop.room.fields import note_field
from shop.room.kinds import LIMITED
from shop.room.models import LIMIT_ORDER, GasUse, Limit, LimitKind


class ChangeLimitForm(ChangeForm):
    what_to_do = note_field("What to do then")

    def __init__(self, data: Any = None, *, person: Any, row: Limit, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        about = LIMITED[LimitKind(row.kind)]
        labels = ("Hold below", "Care below", "Care above", "Hold above")
        for name, label in zip(LIMIT_ORDER, labels, strict=True):
            field = QuantityField(
                about.quantity, label=label, required=False, low=0 if about.possible[0] >= 0 else None
            )
            field.speak_to(person)
            self.fields[name] = field
        self.order_fields([*LIMIT_ORDER, "what_to_do"])


class ChangeGasUseForm(ChangeForm):
    side_g = QuantityField("mass", label="Nitrogen that a side takes", low=0, high=5000)
    reserve_bar = QuantityField("pressure", label="Change the cylinder below", low=0, high=MOST_BAR)
    low_percent = NumberField(
        label="A spare must stand ready from", unit="%", low=0, high=100, help_text="Of a full cylinder's gas left."
    )
    lead_days = NumberField(
        label="From an order until it is here", unit="days", low=0, high=365, whole=True, help_text="In whole days."
    )

    def kept(self, row: GasUse) -> dict[str, Any]:
        return {**super().kept(row), "low_percent": round(100 * row.low_share, 1)}

    def typed(self) -> dict[str, Any]:
        typed = super().typed()
        low_share = typed.pop("low_percent") / 100
        return {**typed, "low_share": low_share}
