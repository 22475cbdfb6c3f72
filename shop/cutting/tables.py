"""Tables of cutting."""

from typing import Any

import django_tables2 as tables
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop import clock
from shop.cutting.models import Booking, Side
from shop.cutting.queries import Traced, is_withdrawn
from shop.cutting.traced import link_of
from shop.cutting.wording import minutes_words

NUM = {"td": {"class": "num"}, "th": {"class": "num"}}
#: Cells that are not broken into lines.
WHOLE = {"td": {"class": "whole"}}


class SideTable(tables.Table):
    at = tables.Column(verbose_name="Cut")
    wanted = tables.Column(verbose_name="Booking", default="none")
    disc_in = tables.Column(verbose_name="Size", attrs=WHOLE)
    cut_s = tables.Column(verbose_name="Length", attrs=NUM)
    outcome = tables.Column(verbose_name="Outcome")
    life = tables.Column(verbose_name="Stylus", accessor="life__stylus")
    lot = tables.Column(verbose_name="Lot")
    by = tables.Column(verbose_name="Cut by", accessor="cut_by", attrs=WHOLE)

    class Meta:
        orderable = False
        empty_text = "No sides here. Log one when it is cut, or show all."
        attrs = {"caption": "Sides, latest first"}

    def render_at(self, record: Side) -> SafeString:
        local = timezone.localtime(record.at)
        words = f"{local.day} {local:%b %Y, %H:%M}"
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), words)

    def render_wanted(self, record: Side) -> SafeString:
        assert record.wanted is not None
        return format_html('<a href="{}">{}</a>', record.wanted.booking.get_absolute_url(), record.wanted)

    def render_disc_in(self, record: Side) -> str:
        return f"{record.get_disc_in_display()}, {record.get_speed_display()}"

    def render_cut_s(self, value: int) -> str:
        return minutes_words(value)

    def render_outcome(self, record: Side) -> SafeString | str:
        said = record.get_outcome_display()
        if record.reject_reason is not None:
            said = f"{said}: {record.reject_reason}"
        return format_html("{} <span class=badge>withdrawn</span>", said) if is_withdrawn(record) else said

    def render_life(self, record: Side) -> SafeString:
        return format_html('<a href="{}">{}</a>', record.life.stylus.get_absolute_url(), record.life.stylus)

    def render_lot(self, record: Side) -> SafeString:
        return format_html('<a href="{}">{}</a>', record.lot.get_absolute_url(), record.lot)


class TraceTable(SideTable):
    """The sides of a trace; what they name leads on to its own trace. Withdrawn ones say why."""

    cut_text = tables.Column(verbose_name="Run-out", default="")

    class Meta:
        orderable = False
        empty_text = "No side is on record here."
        exclude = ("disc_in", "cut_s")
        sequence = ("at", "wanted", "cut_text", "outcome", "life", "lot", "by")

    def render_wanted(self, record: Side) -> SafeString:
        assert record.wanted is not None
        return _to_trace(Traced.BOOKING, record.wanted.booking_id, record.wanted)

    def render_outcome(self, record: Side) -> SafeString | str:
        said = super().render_outcome(record)
        return format_html("{}: {}", said, record.withdrawal.reason) if is_withdrawn(record) else said

    def render_life(self, record: Side) -> SafeString:
        return _to_trace(Traced.STYLUS, record.life.stylus_id, record.life.stylus)

    def render_lot(self, record: Side) -> SafeString:
        return _to_trace(Traced.LOT, record.lot_id, record.lot)


def _to_trace(kind: Traced, pk: int, words: object) -> SafeString:
    return format_html('<a href="{}">{}</a>', link_of(kind, pk), words)


class BookingTable(tables.Table):
    code = tables.Column(verbose_name="Booking")
    cut_on = tables.Column(verbose_name="Day")
    customer = tables.Column(verbose_name="For whom", default="")
    cut = tables.Column(verbose_name="Cut")
    state = tables.Column(verbose_name="State", empty_values=())

    class Meta:
        orderable = False
        empty_text = "No bookings here."

    def render_code(self, record: Any) -> SafeString:
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), record)

    def render_cut_on(self, record: Booking) -> SafeString | str:
        day = f"{record.cut_on:%a} {record.cut_on.day} {record.cut_on:%b %Y}"
        gone = record.is_open and record.cut_on < clock.today()
        return format_html("{} <span class=badge>gone by</span>", day) if gone else day

    def render_cut(self, record: Any) -> str:
        return f"{record.cut} of {record.sides}"

    def render_state(self, record: Booking) -> str:
        if record.finished_at is not None:
            return "finished"
        return "cancelled" if record.cancelled_at is not None else "open"
