"""What the lists of cutting can be narrowed to."""

from datetime import date

import django_filters as filters
from django.db.models import QuerySet

from shop import clock
from shop.cutting.models import DiscSize, Outcome, Side
from shop.press.fields import DayField


class DayFilter(filters.Filter):
    field_class = DayField


class SideFilter(filters.FilterSet):
    outcome = filters.ChoiceFilter(label="Outcome", choices=Outcome.choices, empty_label="Any")
    disc_in = filters.ChoiceFilter(label="Record size", choices=DiscSize.choices, empty_label="Any")
    stylus = filters.CharFilter(label="Stylus", field_name="life__stylus__mark", lookup_expr="iexact")
    lot = filters.CharFilter(label="Lot", field_name="lot__code", lookup_expr="iexact")
    booking = filters.CharFilter(label="Booking", field_name="wanted__booking__code", lookup_expr="iexact")
    since = DayFilter(label="From", method="from_day")
    until = DayFilter(label="Through", method="through_day")

    class Meta:
        model = Side
        fields = ("outcome", "disc_in")

    def from_day(self, rows: QuerySet[Side], name: str, day: date) -> QuerySet[Side]:
        return rows.filter(at__gte=clock.day_bounds(day)[0])

    def through_day(self, rows: QuerySet[Side], name: str, day: date) -> QuerySet[Side]:
        return rows if day == date.max else rows.filter(at__lt=clock.day_bounds(day)[1])
