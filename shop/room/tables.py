"""Lists of readings and cylinders. Values are in the reader's unit; the pages are cut by shop.paging."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html

from shop.people.models import HANDS, Units
from shop.room.contents import ASSUMED_C, GAS_C, contents
from shop.room.kinds import KINDS
from shop.room.models import ChipStored, Cylinder, GasUse, Reading, ReadingKind
from shop.room.wording import said
from shop.wording import per_cent


class ReadingTable(tables.Table):
    at = tables.Column(verbose_name="Read at")
    kind = tables.Column(verbose_name="Kind")
    value = tables.Column(verbose_name="Value", attrs={"td": {"class": "num"}, "th": {"class": "num"}})
    by = tables.Column(verbose_name="By", accessor="taken_by")
    note = tables.Column(verbose_name="Remarks", empty_values=())
    correct = tables.Column(verbose_name="Put right", accessor="pk", empty_values=())

    class Meta:
        orderable = False
        attrs = {"caption": "Readings, latest first"}
        empty_text = "No readings yet. Take some first."
        row_attrs = {"class": lambda record: "struck" if hasattr(record, "corrected_by") else ""}

    #: Whether the remarks of a gauge reading say of which cylinder.
    names_cylinder = True

    def __init__(self, data: Sequence[Reading], *, reader: Any, **rest: Any) -> None:
        self.reader: Units = reader
        self.may_correct = reader.role in HANDS
        if not self.may_correct:
            rest["exclude"] = (*rest.get("exclude", ()), "correct")
        super().__init__(data, **rest)

    def render_at(self, value: datetime) -> str:
        return f"{timezone.localtime(value):%-d %b %Y, %H:%M}"

    def render_kind(self, record: Reading) -> Any:
        address = reverse("room:reading", args=[record.kind])
        return format_html('<a href="{}">{}</a>', address, KINDS[ReadingKind(record.kind)].name)

    def render_value(self, value: float, record: Reading) -> Any:
        shown = said(KINDS[ReadingKind(record.kind)].quantity, value, self.reader)
        return format_html("<s>{}</s>", shown) if hasattr(record, "corrected_by") else shown

    def render_note(self, record: Reading) -> Any:
        """Which cylinder, what it corrects or was corrected by, and the note."""
        words = []
        about = KINDS[ReadingKind(record.kind)]
        if record.cylinder is not None and self.names_cylinder:
            words.append(f"Cylinder {record.cylinder.mark}.")
        if hasattr(record, "corrected_by"):
            right = said(about.quantity, record.corrected_by.value, self.reader)
            words.append(f"Corrected to {right}: does not count.")
        if record.corrects is not None:
            words.append(f"In place of {said(about.quantity, record.corrects.value, self.reader)}.")
        words.append(record.note)
        return " ".join(word for word in words if word)

    def render_correct(self, record: Reading) -> Any:
        if hasattr(record, "corrected_by"):
            return ""
        address = reverse("room:correct-reading", args=[record.pk])
        about = KINDS[ReadingKind(record.kind)]
        return format_html(
            '<a href="{}">Correct<span class="unseen"> {} of {}</span></a>',
            address,
            about.short,
            self.render_at(record.at),
        )


class KindTable(ReadingTable):
    """Readings of one kind."""

    class Meta(ReadingTable.Meta):
        exclude = ("kind",)


class GaugeTable(ReadingTable):
    """Gauge readings of one cylinder, each with what it left in it."""

    celsius = tables.Column(verbose_name="Temperature", accessor="pk")
    gas = tables.Column(verbose_name="Gas left", accessor="pk")
    names_cylinder = False

    class Meta(ReadingTable.Meta):
        exclude = ("kind",)
        sequence = ("at", "value", "celsius", "gas", "...")
        attrs = {"caption": "Gauge readings, latest first"}
        empty_text = "Its gauge was not read yet."

    def __init__(
        self,
        data: Sequence[Reading],
        *,
        beside: Mapping[int, float | None],
        cylinder: Cylinder,
        use: GasUse,
        **rest: Any,
    ) -> None:
        """beside: for each reading the temperature read with it or near it, or None."""
        self.beside, self.cylinder, self.use = beside, cylinder, use
        super().__init__(data, **rest)

    def render_celsius(self, record: Reading) -> str:
        celsius, assumed = self._celsius(record)
        shown = said("temperature", celsius, self.reader)
        return f"{shown}, assumed" if assumed else shown

    def render_gas(self, record: Reading) -> str:
        holds = contents(self.cylinder, record.value, self._celsius(record)[0], self.use)
        return f"{holds.mass_kg:.2f} kg, {per_cent(holds.share)}"

    def _celsius(self, record: Reading) -> tuple[float, bool]:
        near = self.beside.get(record.pk)
        if near is None or not GAS_C[0] <= near <= GAS_C[1]:
            return ASSUMED_C, True
        return near, False


class ReturnedTable(tables.Table):
    mark = tables.Column(linkify=True)
    delivered_on = tables.Column(verbose_name="Delivered")
    connected_at = tables.Column(verbose_name="Connected", default="never")
    empty_at = tables.Column(verbose_name="Empty", default="–")
    returned_on = tables.Column(verbose_name="Returned")

    class Meta:
        orderable = False
        attrs = {"caption": "Cylinders that went back, latest first"}
        empty_text = "None went back yet."

    def render_delivered_on(self, value: Any) -> str:
        return f"{value:%-d %b %Y}"

    render_returned_on = render_delivered_on

    def render_connected_at(self, value: datetime) -> str:
        return f"{timezone.localtime(value):%-d %b %Y}"

    render_empty_at = render_connected_at


class ChipStoredTable(tables.Table):
    """Chip wetted and stored; what was taken back is struck out."""

    at = tables.Column(verbose_name="Stored at")
    can = tables.Column(verbose_name="Can")
    mg = tables.Column(verbose_name="Chip", attrs={"td": {"class": "num"}, "th": {"class": "num"}})
    by = tables.Column(verbose_name="By")
    note = tables.Column(verbose_name="Remarks", empty_values=())
    put_right = tables.Column(verbose_name="Put right", accessor="pk")

    class Meta:
        orderable = False
        attrs = {"caption": "Chip wetted and stored, latest first"}
        empty_text = "None yet."
        row_attrs = {"class": lambda record: "struck" if hasattr(record, "undone_by") else ""}

    def __init__(self, data: Sequence[ChipStored], *, may_take_back: bool, **rest: Any) -> None:
        if not may_take_back:
            rest["exclude"] = (*rest.get("exclude", ()), "put_right")
        super().__init__(data, **rest)

    def render_at(self, value: datetime) -> str:
        return f"{timezone.localtime(value):%-d %b %Y, %H:%M}"

    def render_mg(self, value: int, record: ChipStored) -> Any:
        shown = f"{value / 1000:.1f}\u00a0g".replace("-", "\u2212")
        return format_html("<s>{}</s>", shown) if hasattr(record, "undone_by") else shown

    def render_note(self, record: ChipStored) -> str:
        words = ["Taken back: does not count."] if hasattr(record, "undone_by") else []
        if record.undoes_id is not None:
            words.append("Takes an entry back.")
        return " ".join([*words, record.note]).strip()

    def render_put_right(self, record: ChipStored) -> Any:
        if hasattr(record, "undone_by") or record.undoes_id is not None or record.can.handed_at is not None:
            return ""
        address = reverse("room:take-back-chip", args=[record.pk])
        return format_html(
            '<a href="{}">Take back<span class="unseen"> {}</span></a>', address, self.render_at(record.at)
        )
