"""What may be tried on an item's outlook."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from shop import clock
from shop.calc.demand import Booked, LeadTime, Question
from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.fields import DayField, NumberField
from shop.press.plain import PlainForm
from shop.stock.actions.planning import SERVICE_LEVELS
from shop.stock.amounts import kind_of
from shop.stock.forms.fields import amount_field
from shop.stock.models import Item

#: The furthest day that an extra booking may be tried for: as far as an outlook looks.
_FURTHEST = timedelta(weeks=104)


class WhatIfForm(PlainForm):
    """Figures to try: nothing is written, so it is sent by GET and may be kept as a link. Each may be left empty."""

    service = NumberField(
        label="Service level",
        unit="%",
        low=100 * SERVICE_LEVELS[0],
        high=100 * SERVICE_LEVELS[1],
        required=False,
    )
    lead_days = NumberField(label="Lead time of a new order", unit="days", low=0, high=730, whole=True, required=False)

    def __init__(self, data: Any = None, *, person: Person, item: Item, **rest: Any) -> None:
        super().__init__(data, **rest)
        extra = amount_field(
            item, label="Booked besides" if kind_of(item) is None else "Needed besides", required=False
        )
        if isinstance(extra, QuantityField):
            extra.speak_to(person)
        self.fields["extra"] = extra
        self.fields["on"] = DayField(label="On the day", required=False)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        extra, on = said.get("extra"), said.get("on")
        if on is not None and not clock.today() <= on <= clock.today() + _FURTHEST:
            self.add_error("on", "Give a day from today on, at most two years ahead.")
        if extra and on is None and "on" not in self.errors:
            self.add_error("on", "Say for which day.")
        if on is not None and not extra and "extra" not in self.errors:
            self.add_error("extra", "Say how many." if isinstance(extra, int) or extra is None else "Say how much.")
        return said

    @property
    def says_something(self) -> bool:
        return any(value not in (None, "") for value in self.cleaned_data.values())

    def tried(self, asked: Question) -> Question:
        """The question with what was typed in place of what is so."""
        said = self.cleaned_data
        if said["service"] is not None:
            asked = replace(asked, service=round(said["service"] / 100, 8))
        if said["lead_days"] is not None:
            asked = replace(asked, lead=LeadTime.known(said["lead_days"]))
        if said["extra"]:
            more = Booked((said["on"] - clock.today()).days, said["extra"])
            asked = replace(asked, booked=(*asked.booked, more))
        return asked
