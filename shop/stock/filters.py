"""What the lists of stock can be narrowed to. Each narrows by the front of an index."""

import django_filters as filters
from django.db.models import QuerySet

from shop import clock
from shop.people.models import Person
from shop.press.filters import DayFilter, PlainFilter, SpanFilter
from shop.stock.models import (
    UNDER_WAY,
    Count,
    CountLine,
    Item,
    ItemKind,
    Lot,
    Movement,
    MovementKind,
    Order,
    OrderState,
    Supplier,
)


class LedgerFilter(SpanFilter):
    kind = filters.ChoiceFilter(label="What", choices=MovementKind.choices, empty_label="Everything")
    item = filters.ModelChoiceFilter(label="Item", queryset=Item.objects.order_by("name"), empty_label="Any")
    by = filters.ModelChoiceFilter(label="Who", queryset=Person.objects.order_by("name"), empty_label="Anybody")

    class Meta:
        model = Movement
        fields = ("kind", "item", "by", "since", "until")


class ItemFilter(PlainFilter):
    name = filters.CharFilter(label="Name has", lookup_expr="icontains")
    kind = filters.ChoiceFilter(label="Kind", choices=ItemKind.choices, empty_label="All")
    kept = filters.ChoiceFilter(
        label="Kept",
        choices=[("gone", "No longer kept"), ("all", "All")],
        empty_label="Kept now",
        method="whether_kept",
    )

    class Meta:
        model = Item
        fields = ("name", "kind")

    def whether_kept(self, rows: QuerySet[Item], name: str, wanted: str) -> QuerySet[Item]:
        return rows if wanted == "all" else rows.filter(is_active=False)

    @property
    def qs(self) -> QuerySet[Item]:
        rows: QuerySet[Item] = super().qs
        return rows if self.form.cleaned_data.get("kept") else rows.filter(is_active=True)


class LotFilter(PlainFilter):
    code = filters.CharFilter(label="Code has", lookup_expr="icontains")
    item = filters.ModelChoiceFilter(label="Item", queryset=Item.objects.order_by("name"), empty_label="Any")
    supplier = filters.ModelChoiceFilter(
        label="From", queryset=Supplier.objects.order_by("name"), empty_label="Any supplier"
    )
    which = filters.ChoiceFilter(
        label="Which",
        choices=[("held", "On hold"), ("past", "Past the date"), ("empty", "Used up"), ("all", "All")],
        empty_label="Something in it",
        method="of_a_sort",
    )
    since = DayFilter(label="Came in from", field_name="received_on", lookup_expr="gte")
    until = DayFilter(label="Through", field_name="received_on", lookup_expr="lte")

    class Meta:
        model = Lot
        fields = ("code", "item", "supplier", "which", "since", "until")

    def of_a_sort(self, rows: QuerySet[Lot], name: str, wanted: str) -> QuerySet[Lot]:
        there = rows.filter(on_hand__gt=0)
        if wanted == "held":
            return there.filter(held_at__isnull=False)
        if wanted == "past":
            return there.filter(last_day__lt=clock.today())
        return rows.filter(on_hand=0) if wanted == "empty" else rows

    @property
    def qs(self) -> QuerySet[Lot]:
        rows: QuerySet[Lot] = super().qs
        return rows if self.form.cleaned_data.get("which") else rows.filter(on_hand__gt=0)


class OrderFilter(PlainFilter):
    state = filters.ChoiceFilter(
        label="State",
        choices=[*OrderState.choices, ("late", "Late"), ("all", "All")],
        empty_label="Drafts and what is to come",
        method="of_a_state",
    )
    supplier = filters.ModelChoiceFilter(
        label="From", queryset=Supplier.objects.order_by("name"), empty_label="Any supplier"
    )
    item = filters.ModelChoiceFilter(
        label="Item", field_name="lines__item", queryset=Item.objects.order_by("name"), empty_label="Any"
    )
    since = DayFilter(label="Sent from", field_name="sent_on", lookup_expr="gte")
    until = DayFilter(label="Through", field_name="sent_on", lookup_expr="lte")

    class Meta:
        model = Order
        fields = ("state", "supplier", "item", "since", "until")

    def of_a_state(self, rows: QuerySet[Order], name: str, wanted: str) -> QuerySet[Order]:
        if wanted == "late":
            return rows.filter(state__in=UNDER_WAY, expected_on__lt=clock.today())
        return rows if wanted == "all" else rows.filter(state=wanted)

    @property
    def qs(self) -> QuerySet[Order]:
        rows: QuerySet[Order] = super().qs
        if self.form.cleaned_data.get("state"):
            return rows
        return rows.filter(state__in=[OrderState.DRAFT, *UNDER_WAY])


class OutlookFilter(PlainFilter):
    name = filters.CharFilter(label="Name has", lookup_expr="icontains")
    kind = filters.ChoiceFilter(label="Kind", choices=ItemKind.choices, empty_label="All")

    class Meta:
        model = Item
        fields = ("name", "kind")


class CountLineFilter(PlainFilter):
    """The lots of one count, or of all."""

    count = filters.ModelChoiceFilter(label="Count", queryset=Count.objects.order_by("-id"), empty_label="Any")

    class Meta:
        model = CountLine
        fields = ("count",)
