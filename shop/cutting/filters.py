"""What the lists of cutting can be narrowed to."""

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


class CostFilter(SpanFilter):
    """The days whose sides are added up."""

    class Meta:
        model = Side
        fields = ("since", "until")
