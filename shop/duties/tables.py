"""The list of duties, and what it can be narrowed to."""

from typing import Any

import django_filters as filters
import django_tables2 as tables
from django.db.models import F, Q, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop import clock
from shop.duties.models import Duty, Entry
from shop.duties.queries import is_due, is_late
from shop.press.filters import PlainFilter, SpanFilter

_WHOLE = {"td": {"class": "whole"}}


class DutyFilter(PlainFilter):
    state = filters.ChoiceFilter(
        label="Which",
        method="of_state",
        empty_label="Kept",
        choices=[
            ("due", "Due now"),
            ("late", "Late"),
            ("critical", "Safety-critical"),
            ("stopped", "Stopped"),
            ("all", "All"),
        ],
    )
    words = filters.CharFilter(label="Word in its name or place", method="with_words")

    class Meta:
        model = Duty
        fields = ("state", "words")

    @property
    def qs(self) -> QuerySet[Duty]:
        found: QuerySet[Duty] = super().qs
        if self.form.is_valid() and self.form.cleaned_data.get("state") in ("stopped", "all"):
            return found
        return found.filter(is_active=True)

    def of_state(self, rows: QuerySet[Duty], name: str, state: str) -> QuerySet[Duty]:
        now = clock.now()
        if state == "all":
            return rows
        if state == "stopped":
            return rows.filter(is_active=False)
        if state == "critical":
            return rows.filter(is_critical=True)
        return rows.filter(due_at__lte=now) if state == "due" else rows.filter(late_at__lte=now)

    def with_words(self, rows: QuerySet[Duty], name: str, words: str) -> QuerySet[Duty]:
        return rows.filter(Q(name__icontains=words) | Q(place__icontains=words))


class EntryFilter(SpanFilter):
    duty = filters.ModelChoiceFilter(label="Duty", queryset=Duty.objects.order_by("name"), empty_label="Any")

    class Meta:
        model = Entry
        fields = ("duty", "since", "until")


class DutyTable(tables.Table):
    name = tables.Column(verbose_name="Duty")
    place = tables.Column(verbose_name="Where")
    often = tables.Column(accessor="how_often", verbose_name="How often", orderable=False)
    whose = tables.Column(accessor="whose", verbose_name="For whom", orderable=False)
    last = tables.Column(
        accessor="last_entry", verbose_name="Last done", orderable=False, default="never", attrs=_WHOLE
    )
    due = tables.Column(accessor="due_at", verbose_name="Next due", order_by="due_at", empty_values=(), attrs=_WHOLE)

    class Meta:
        order_by = "due"
        empty_text = "No duty fits that."
        attrs = {"caption": "Duties"}

    def order_due(self, rows: QuerySet[Duty], is_descending: bool) -> tuple[QuerySet[Duty], bool]:
        """What is due first, then what its meter is expected to bring, then what nothing is known of."""
        due, expected = F("due_at"), F("expected_on")
        if is_descending:
            return rows.order_by(due.desc(nulls_first=True), expected.desc(nulls_first=True), "name"), True
        return rows.order_by(due.asc(nulls_last=True), expected.asc(nulls_last=True), "name"), True

    def render_name(self, record: Duty) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("duties:duty", args=[record.pk]), record.name)

    def render_last(self, value: Any) -> str:
        local = timezone.localtime(value.at)
        return f"{local.day} {local:%b %Y}"

    def render_due(self, record: Duty) -> SafeString | str:
        now = clock.now()
        if not record.is_active:
            return "stopped"
        if record.due_on is not None:
            day = f"{record.due_on:%a} {record.due_on.day} {record.due_on:%b %Y}"
            if is_late(record, now):
                return format_html("{} <span class=badge>late</span>", day)
            return format_html("{} <span class=badge>due</span>", day) if is_due(record, now) else day
        if record.expected_on is not None:
            return f"about {record.expected_on.day} {record.expected_on:%b %Y}"
        return "by its meter" if record.meter_id else "no more"
