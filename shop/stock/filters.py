"""What the lists of stock can be narrowed to. Each narrows by the front of an index."""

from datetime import date

import django_filters as filters
from django.db.models import QuerySet

from shop import clock
from shop.people.models import Person
from shop.stock.forms import DayField
from shop.stock.models import Item, ItemKind, Movement, MovementKind


class DayFilter(filters.Filter):
    field_class = DayField


class LedgerFilter(filters.FilterSet):
    kind = filters.ChoiceFilter(label="What", choices=MovementKind.choices, empty_label="Everything")
    item = filters.ModelChoiceFilter(label="Item", queryset=Item.objects.order_by("name"), empty_label="Any")
    by = filters.ModelChoiceFilter(label="Who", queryset=Person.objects.order_by("name"), empty_label="Anybody")
    since = DayFilter(label="From", method="from_day")
    until = DayFilter(label="Through", method="through_day")

    class Meta:
        model = Movement
        fields = ("kind", "item", "by")

    def from_day(self, rows: QuerySet[Movement], name: str, day: date) -> QuerySet[Movement]:
        return rows.filter(at__gte=clock.day_bounds(day)[0])

    def through_day(self, rows: QuerySet[Movement], name: str, day: date) -> QuerySet[Movement]:
        return rows if day == date.max else rows.filter(at__lt=clock.day_bounds(day)[1])


class ItemFilter(filters.FilterSet):
    name = filters.CharFilter(label="Name has", lookup_expr="icontains")
    kind = filters.ChoiceFilter(label="Kind", choices=ItemKind.choices, empty_label="All")
    kept = filters.ChoiceFilter(
        label="Kept", choices=[("gone", "No longer kept")], empty_label="Kept now", method="whether_kept"
    )

    class Meta:
        model = Item
        fields = ("name", "kind")

    def whether_kept(self, rows: QuerySet[Item], name: str, wanted: str) -> QuerySet[Item]:
        return rows.filter(is_active=False)

    @property
    def qs(self) -> QuerySet[Item]:
        rows: QuerySet[Item] = super().qs
        return rows if self.form.cleaned_data.get("kept") else rows.filter(is_active=True)
