import django_filters

from shop.press.filters import PlainFilter
from shop.room.models import Reading, ReadingKind


class ReadingFilter(PlainFilter):
    kind = django_filters.ChoiceFilter(choices=ReadingKind.choices, label="Kind", empty_label="All kinds")

    class Meta:
        model = Reading
        fields = ("kind",)
