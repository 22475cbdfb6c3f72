"""What the lists of stock can be narrowed to. Each narrows by the front of an index."""

import django_filters as filters
from django.db.models import QuerySet

from shop.people.models import Person
from shop.press.filters import SpanFilter
from shop.stock.models import Item, ItemKind, Movement, MovementKind


class LedgerFilter(SpanFilter):
    kind = filters.ChoiceFilter(label="What", choices=MovementKind.choices, empty_label="Everything")
    item = filters.ModelChoiceFilter(label="Item", queryset=Item.objects.order_by("name"), empty_label="Any")
    by = filters.ModelChoiceFilter(label="Who", queryset=Person.objects.order_by("name"), empty_label="Anybody")

    class Meta:
        model = Movement
        fields = ("kind", "item", "by", "since", "until")


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
