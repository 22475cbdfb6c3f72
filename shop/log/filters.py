"""What the log can be narrowed to."""

from typing import Any

import django_filters as filters
from django import forms
from django.db.models import QuerySet

from shop.log import queries, things
from shop.log.models import Note, NoteKind
from shop.people.models import HANDS, Person
from shop.press.filters import SpanFilter

#: More typed than this is no search; each word is a question of its own to the database.
MOST_TYPED = 200


class NoteFilter(SpanFilter):
    """about: a ref of a thing (things.py), which its page leads here with."""

    words = filters.CharFilter(label="Words in it", method="with_words", max_length=MOST_TYPED)
    by = filters.ModelChoiceFilter(
        label="By whom", queryset=Person.objects.filter(role__in=HANDS), empty_label="Anybody"
    )
    kind = filters.ChoiceFilter(label="What it is", choices=NoteKind.choices, empty_label="All")
    about = filters.CharFilter(method="about_thing", widget=forms.HiddenInput)

    class Meta:
        model = Note
        fields = ("words", "by", "kind", "since", "until", "about")

    def with_words(self, rows: QuerySet[Any], name: str, words: str) -> QuerySet[Any]:
        """Notes in which every word stands, in any order."""
        for word in dict.fromkeys(words.split()):
            rows = rows.filter(text__icontains=word)
        return rows

    def about_thing(self, rows: QuerySet[Any], name: str, ref: str) -> QuerySet[Any]:
        return rows.filter(pk__in=queries.linked_to(*things.split(ref)))
