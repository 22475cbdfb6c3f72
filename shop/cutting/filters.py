"""What the lists of cutting can be narrowed to."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import django_filters as filters

from shop.cutting.models import DiscSize, Outcome, Side
from shop.press.filters import SpanFilter


class SideFilter(SpanFilter):
    outcome = filters.ChoiceFilter(label="Outcome", choices=Outcome.choices, empty_label="Any")
    disc_in = filters.ChoiceFilter(label="Record size", choices=DiscSize.choices, empty_label="Any")
    stylus = filters.CharFilter(label="Stylus", field_name="life__stylus__mark", lookup_expr="iexact")
    lot = filters.CharFilter(label="Lot", field_name="lot__code", lookup_expr="iexact")
    booking = filters.CharFilter(label="Booking", field_name="wanted__booking__code", lookup_expr="iexact")

    class Meta:
        model = Side
        fields = ("outcome", "disc_in", "stylus", "lot", "booking", "since", "until")


#: Which bookings a list shows.
BOOKING_STATES = (("open", "Open"), ("finished", "Finished"), ("cancelled", "Cancelled"), ("all", "All"))


def booking_state(query: Mapping[str, Any]) -> str:
    """Which bookings ?state= asks for: the open ones, if it says nothing that is known."""
    asked: str = query.get("state", "")
    return asked if asked in dict(BOOKING_STATES) else "open"


class DaysFilter(SpanFilter):
    """The days whose sides are added up."""

    #: How many days are shown unless others are asked for.
    DAYS = 365
    #: No side is older.
    EARLIEST = date(1970, 1, 1)

    class Meta:
        model = Side
        fields = ("since", "until")

    def span(self, today: date) -> tuple[date, date]:
        """The first and the last of the days."""
        said = self.form.cleaned_data if self.form.is_valid() else {}
        until = max(min(said.get("until") or today, today), self.EARLIEST)
        since = max(said.get("since") or until - timedelta(days=self.DAYS - 1), self.EARLIEST)
        return min(since, until), until


class CostFilter(DaysFilter):
    DAYS = 90
