"""The record as a list."""

from collections.abc import Sequence
from datetime import datetime

import django_tables2 as tables
from django.utils import timezone
from django.utils.formats import date_format

from shop.press.models import Line
from shop.record.queries import act_words

_WHOLE = {"td": {"class": "whole"}}


class RecordTable(tables.Table):
    at = tables.Column(verbose_name="When", attrs=_WHOLE)
    who = tables.Column(verbose_name="Who", default="the program")
    act = tables.Column(verbose_name="What was done", linkify=("record:line", {"number": tables.A("number")}))
    thing = tables.Column(verbose_name="To what")

    class Meta:
        orderable = False
        attrs = {"caption": "What was done, latest first"}
        empty_text = "Nothing fits."

    def __init__(self, rows: Sequence[Line]) -> None:
        super().__init__(rows)

    def render_at(self, value: datetime) -> str:
        local = timezone.localtime(value)
        return f"{date_format(local, 'j M Y')}, {date_format(local, 'H:i')}".replace(" ", "\u00a0")

    def render_act(self, value: str) -> str:
        return act_words(value)
