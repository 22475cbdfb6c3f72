"""Lists of the watch; the pages are cut by shop.paging."""

from collections.abc import Sequence
from datetime import datetime

import django_tables2 as tables
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.people.templatetags.shop import grade
from shop.watch.models import Alert, Delivery

_WHOLE = {"td": {"class": "whole"}}


def _when(moment: datetime | None) -> str:
    if moment is None:
        return ""
    local = timezone.localtime(moment)
    return f"{date_format(local, 'j M Y')}, {date_format(local, 'H:i')}".replace(" ", "\u00a0")


class EndedTable(tables.Table):
    headline = tables.Column(verbose_name="What", linkify=lambda record: record.get_absolute_url())
    grade = tables.Column(verbose_name="Grade", attrs=_WHOLE)
    opened_at = tables.Column(verbose_name="Raised", attrs=_WHOLE)
    ended_at = tables.Column(verbose_name="Gone", attrs=_WHOLE)
    taken_by = tables.Column(verbose_name="Looked after by", default="nobody")

    class Meta:
        orderable = False
        attrs = {"caption": "Alerts that are over, latest first"}
        empty_text = "Nothing is over yet."

    def __init__(self, rows: Sequence[Alert]) -> None:
        super().__init__(rows)

    def render_grade(self, value: object, record: Alert) -> SafeString:
        return grade(record.grade)

    def render_opened_at(self, value: datetime) -> str:
        return _when(value)

    def render_ended_at(self, value: datetime) -> str:
        return _when(value)


class DeliveryTable(tables.Table):
    person = tables.Column(verbose_name="To")
    kind = tables.Column(verbose_name="Mail")
    state = tables.Column(verbose_name="State", attrs=_WHOLE)
    made_at = tables.Column(verbose_name="Wished", attrs=_WHOLE)
    sent_at = tables.Column(verbose_name="Taken by the mail server", attrs=_WHOLE, default="")
    attempts = tables.Column(verbose_name="Attempts", attrs={"th": {"class": "num"}, "td": {"class": "num"}})
    trouble = tables.Column(verbose_name="Trouble", empty_values=())

    class Meta:
        orderable = False
        attrs = {"caption": "Mail, latest first"}
        empty_text = "No mail was wished for yet."

    def __init__(self, rows: Sequence[Delivery]) -> None:
        super().__init__(rows)

    def render_made_at(self, value: datetime) -> str:
        return _when(value)

    def render_sent_at(self, value: datetime) -> str:
        return _when(value)

    def render_trouble(self, record: Delivery) -> str | SafeString:
        if record.doubled:
            return format_html("May have come twice. {}", record.trouble)
        return record.trouble
