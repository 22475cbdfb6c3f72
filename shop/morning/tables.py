"""The list of checks."""

import django_filters as filters
import django_tables2 as tables
from django.db.models import QuerySet
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.concern import Grade
from shop.morning.models import Check, Verdict
from shop.press.filters import DayFilter, PlainFilter


class CheckFilter(PlainFilter):
    verdict = filters.ChoiceFilter(choices=Verdict.choices, empty_label="Any verdict")
    day = DayFilter(label="Day")

    class Meta:
        model = Check
        fields = ["verdict", "day"]

    @property
    def qs(self) -> QuerySet[Check]:
        """All of them where the filter could not be read; the field says so."""
        return super().qs if not self.is_bound or self.form.is_valid() else self.queryset.all()


class CheckTable(tables.Table):
    day = tables.DateColumn(format="D j M Y", linkify=True)
    at = tables.TimeColumn(verbose_name="Signed", format="H:i")
    signed_as = tables.Column(verbose_name="By")
    verdict = tables.Column(orderable=False)
    reasons = tables.Column(empty_values=())
    state = tables.Column(verbose_name="", empty_values=())

    class Meta:
        model = Check
        fields = ("day", "at", "signed_as", "verdict", "reasons", "state")
        attrs = {"class": "table"}
        orderable = False
        empty_text = "No check has been signed yet."

    def render_verdict(self, record: Check) -> SafeString:
        return format_html('<b class="word-{}">{}</b>', record.verdict, record.get_verdict_display())

    def render_reasons(self, record: Check) -> str:
        """How many of each grade, gravest first; notes are not reasons."""
        counts = [
            (sum(one["grade"] == grade for one in record.concerns), grade.word) for grade in (Grade.HOLD, Grade.CARE)
        ]
        return ", ".join(f"{count} {word}" for count, word in counts if count) or "–"

    def render_state(self, record: Check) -> str:
        states = []
        if record.corrects_id is not None:
            states.append("corrects an earlier one")
        if record.is_corrected:
            states.append("corrected since")
        if record.is_overruled:
            states.append("overruled")
        return ", ".join(states).capitalize()
