"""What the lists of safety can be narrowed to."""

from typing import Any

import django_filters as filters
from django.db.models import QuerySet

from shop.press.filters import SpanFilter
from shop.safety.models import Incident, IncidentKind


class IncidentFilter(SpanFilter):
    which = filters.ChoiceFilter(
        label="Which",
        choices=[("happened", "Happened"), ("nearly", "Nearly happened")],
        empty_label="Both",
        method="of_which",
    )
    kind = filters.ChoiceFilter(label="What sort of thing", choices=IncidentKind.choices, empty_label="All")
    state = filters.ChoiceFilter(
        label="How it stands", choices=[("open", "Open"), ("closed", "Closed")], empty_label="Both", method="in_state"
    )

    class Meta:
        model = Incident
        fields = ("which", "kind", "state", "since", "until")

    def of_which(self, rows: QuerySet[Any], name: str, which: str) -> QuerySet[Any]:
        return rows.filter(near_miss=which == "nearly")

    def in_state(self, rows: QuerySet[Any], name: str, state: str) -> QuerySet[Any]:
        return rows.filter(is_closed=state == "closed")
