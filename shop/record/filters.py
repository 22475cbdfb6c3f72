"""What the record can be narrowed to."""

from typing import Any

import django_filters as filters
from django.db.models import Q, QuerySet

from shop.people.models import Person
from shop.press.filters import SpanFilter
from shop.press.models import Line
from shop.record.queries import act_words, acts, area_words


class RecordFilter(SpanFilter):
    by = filters.ModelChoiceFilter(label="Who", queryset=Person.objects.all(), empty_label="Anybody")
    act = filters.ChoiceFilter(label="What was done", empty_label="Anything")
    words = filters.CharFilter(label="Words in it", method="with_words")

    class Meta:
        model = Line
        fields = ("by", "act", "words", "since", "until")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.filters["act"].extra["choices"] = [(act, f"{area_words(act)}: {act_words(act).lower()}") for act in acts()]

    def with_words(self, rows: QuerySet[Line], name: str, words: str) -> QuerySet[Line]:
        return rows.filter(Q(thing__icontains=words) | Q(said__icontains=words) | Q(who__icontains=words))
