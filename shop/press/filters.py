"""What lists are narrowed by in more than one app."""

from datetime import date
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import QuerySet

from shop import clock
from shop.press.fields import DayField
from shop.press.plain import PlainWords


class DayFilter(filters.Filter):
    field_class = DayField


class PlainFilter(filters.FilterSet):
    """A filter whose form speaks our words."""

    def get_form_class(self) -> type[forms.Form]:
        plain: type[forms.Form] = super().get_form_class()
        return type(plain.__name__, (PlainWords, plain), {})


class SpanFilter(PlainFilter):
    """Rows whose `at` lies from the start of one day through the end of another, in the room's zone.

    A subclass names all its filters in Meta.fields, for their order.
    """

    since = DayFilter(label="From", method="from_day")
    until = DayFilter(label="Through", method="through_day")

    def from_day(self, rows: QuerySet[Any], name: str, day: date) -> QuerySet[Any]:
        return rows.filter(at__gte=clock.day_bounds(day)[0])

    def through_day(self, rows: QuerySet[Any], name: str, day: date) -> QuerySet[Any]:
        return rows if day == date.max else rows.filter(at__lt=clock.day_bounds(day)[1])
