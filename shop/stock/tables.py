"""The tables of stock."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop import clock
from shop.people.models import Person
from shop.press.pages import may
from shop.stock import actions, rules
from shop.stock.amounts import change_in_words, in_words, lines_in_words
from shop.stock.ledger import Owner
from shop.stock.models import Count, Defect, Item, Lot, Movement, MovementKind, Order, ReorderFigure, Supplier
from shop.stock.queries.counting import agreeing_counts
from shop.stock.queries.outlook import LOOK_WEEKS
from shop.stock.wording import rate_words
from shop.wording import chance_words

_WHOLE = {"td": {"class": "whole"}}
#: Not broken where there is room for it.
_WHOLE_WIDE = {"td": {"class": "whole-wide"}}
_NUMBER = {"th": {"class": "num"}, "td": {"class": "num"}}


def _day(day: date) -> str:
    return f"{day.day}\u00a0{day:%b}\u00a0{day.year}"


def _when(moment: Any) -> str:
    local = timezone.localtime(moment)
    return f"{_day(local)}, {date_format(local, 'H:i')}"


def _came_or_when(movement: Movement) -> str:
    """When it happened: the day alone of what came in on an earlier day, of which no hour is known."""
    return _day(clock.day_of(movement.at)) if rules.is_day_only(movement) else _when(movement.at)


class MovementTable(tables.Table):
    """Lines of the ledger, in the order given. owners: the records that some of them belong to, by movement id.

    What was left in a lot runs in the order in which lines are entered, as a lot's own ledger is; in any other order
    the column says so.
    """

    what = tables.Column(accessor="kind", verbose_name="What", attrs=_WHOLE)
    of = tables.Column(accessor="item", verbose_name="Of", attrs=_WHOLE_WIDE)
    lot = tables.Column(verbose_name="Lot", linkify=lambda record: record.lot.get_absolute_url(), attrs=_WHOLE)
    balance = tables.Column(verbose_name="Left in lot", attrs=_NUMBER)
    at = tables.Column(verbose_name="When", attrs=_WHOLE)
    by = tables.Column(verbose_name="Who", attrs=_WHOLE_WIDE)
    note = tables.Column(verbose_name="Note", empty_values=())
    undo = tables.Column(verbose_name="A mistake?", empty_values=(), attrs=_WHOLE)

    class Meta:
        orderable = False
        empty_text = "No movement fits that."
        row_attrs = {"id": lambda record: f"movement-{record.pk}"}

    def __init__(
        self, rows: list[Movement], *, reader: Person, owners: Mapping[int, Owner], of_one_lot: bool = False
    ) -> None:
        self.reader, self.owners = reader, owners
        self.agreeing = agreeing_counts(rows)
        super().__init__(rows, exclude=("of", "lot") if of_one_lot else ())
        if not of_one_lot:
            self.columns["balance"].column.verbose_name = "Left once entered"

    def render_what(self, record: Movement) -> SafeString:
        if record.pk in self.agreeing:
            counted = in_words(self.agreeing[record.pk], record.item, self.reader)
            return format_html("{} <b>{}</b>, no difference", record.get_kind_display(), counted)
        change = change_in_words(record.change, record.item, self.reader)
        return format_html("{} <b>{}</b>", record.get_kind_display(), change)

    def render_balance(self, record: Movement) -> str:
        return in_words(record.balance, record.item, self.reader)

    def render_at(self, record: Movement) -> SafeString:
        late = (record.recorded_at - record.at).total_seconds() > 600
        entered = format_html('<br><span class="quiet">entered {}</span>', _when(record.recorded_at)) if late else ""
        return format_html("{}{}", _came_or_when(record), entered)

    def render_note(self, record: Movement) -> str:
        said = [record.defect.name if record.defect else "", record.note]
        if record.reverses is not None:
            undone = record.reverses
            said.insert(0, f"undoes “{undone.get_kind_display().lower()}” of {_came_or_when(undone)}")
        return "; ".join(part for part in said if part)

    def render_undo(self, record: Movement) -> SafeString | str:
        if hasattr(record, "reversed_by"):
            return "undone"
        if owner := self.owners.get(record.pk):
            return format_html('<a href="{}">see {}</a>', owner.link, owner.label)
        if not can_be_undone(record, self.reader):
            return ""
        unseen = f" {record.get_kind_display().lower()} of {_came_or_when(record)}"
        return format_html(
            '<a href="{}">Undo<span class="unseen">{}</span></a>',
            reverse("stock:reverse-movement", args=[record.pk]),
            unseen,
        )


def can_be_undone(movement: Movement, person: Person) -> bool:
    """Whether an undo is worth offering; whether it succeeds is for the action to say."""
    return (
        movement.kind != MovementKind.REVERSED
        and movement.change != 0
        and not hasattr(movement, "reversed_by")
        and may(person, actions.reverse_movement)
    )


class LotTable(tables.Table):
    """Lots with a tick before each, for a form around the table that does something with those ticked."""

    code = tables.Column(verbose_name="Lot", linkify=True, attrs=_WHOLE)
    item = tables.Column(verbose_name="Of", linkify=True, order_by="item__name")
    supplier = tables.Column(verbose_name="From", default="not known", order_by="supplier__name")
    on_hand = tables.Column(verbose_name="On hand", attrs=_NUMBER)
    received_on = tables.DateColumn(verbose_name="Came in", format="j M Y", attrs=_WHOLE)
    last_day = tables.DateColumn(verbose_name="Usable through", format="j M Y", default="no date", attrs=_WHOLE)
    state = tables.Column(accessor="held_at", verbose_name="State", empty_values=(), orderable=False)
    ticked = tables.Column(accessor="pk", verbose_name="Tick", orderable=False)

    class Meta:
        model = Lot
        fields = ("code", "item", "supplier", "on_hand", "received_on", "last_day", "state", "ticked")
        empty_text = "No lot fits that."

    def __init__(self, rows: Any, *, reader: Person, day: date) -> None:
        self.reader, self.day = reader, day
        super().__init__(rows)

    def render_on_hand(self, record: Lot) -> str:
        return in_words(record.on_hand, record.item, self.reader)

    def render_state(self, record: Lot) -> str:
        if record.is_held and record.on_hand:
            return "on hold"
        return "past its date" if record.on_hand and record.is_past_date(self.day) else ""

    def render_ticked(self, record: Lot) -> SafeString:
        box = format_html('<input type="checkbox" name="lot" value="{}">', record.pk)
        return format_html('<label class="tick">{}<span class="unseen">Lot {}</span></label>', box, record.code)


@dataclass(frozen=True)
class FigureLine:
    """The figures of an item's outlook on a day, and how much of it is on hold."""

    figure: ReorderFigure
    day: date
    held: int = 0

    @property
    def is_due(self) -> bool:
        """Whether the day to order by has come."""
        return self.figure.order_by is not None and self.figure.order_by <= self.day


class OutlookTable(tables.Table):
    """What lies ahead of each item, in the order given unless a column is chosen.

    rows: items as queries.by_outlook orders them; lines: their figures, by item.
    """

    name = tables.Column(verbose_name="Item")
    due = tables.Column(verbose_name="Order by", accessor="due_on", attrs=_WHOLE)
    runs_out = tables.Column(verbose_name="Runs out around", accessor="out_on", attrs=_WHOLE)
    chance_out = tables.Column(verbose_name="Out before it comes", accessor="chance", attrs=_NUMBER)
    quantity = tables.Column(verbose_name="Suggested", empty_values=(), orderable=False, attrs=_NUMBER)
    usable = tables.Column(verbose_name="Usable", empty_values=(), orderable=False, attrs=_NUMBER)
    on_order = tables.Column(verbose_name="On order", empty_values=(), orderable=False, attrs=_NUMBER)
    per_week = tables.Column(verbose_name="A week", empty_values=(), orderable=False, attrs=_NUMBER)

    class Meta:
        empty_text = "No item fits that."

    def __init__(self, rows: QuerySet[Item], *, lines: Mapping[int, FigureLine], reader: Person) -> None:
        self.lines, self.reader = lines, reader
        super().__init__(rows)

    def render_name(self, record: Item) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("stock:item-outlook", args=[record.pk]), record.name)

    def render_due(self, record: Item) -> SafeString | str:
        line = self.lines[record.pk]
        if line.figure.per_week is None:
            return "no use known yet"
        if line.figure.order_by is None:
            return "none due"
        return format_html("<b>{}</b>", "now") if line.is_due else _day(line.figure.order_by)

    def render_quantity(self, record: Item) -> str:
        quantity = self.lines[record.pk].figure.quantity
        return in_words(quantity, record, self.reader) if quantity else ""

    def render_chance_out(self, record: Item) -> str:
        chance = self.lines[record.pk].figure.chance_out
        return "" if chance is None else chance_words(chance)

    def render_runs_out(self, record: Item) -> str:
        figure = self.lines[record.pk].figure
        if figure.runs_out_on is None:
            return "" if figure.per_week is None else f"beyond {LOOK_WEEKS} weeks"
        return _day(figure.runs_out_on)

    def render_usable(self, record: Item) -> SafeString:
        line = self.lines[record.pk]
        held = format_html('<br><span class="quiet">{} on hold</span>', in_words(line.held, record, self.reader))
        return format_html("{}{}", in_words(line.figure.usable, record, self.reader), held if line.held else "")

    def render_on_order(self, record: Item) -> str:
        on_order = self.lines[record.pk].figure.on_order
        return in_words(on_order, record, self.reader) if on_order else ""

    def render_per_week(self, record: Item) -> str:
        rate = self.lines[record.pk].figure.per_week
        return "" if rate is None else rate_words(rate, record, self.reader)


class EmptyLotTable(tables.Table):
    code = tables.Column(verbose_name="Lot", linkify=True)
    supplier = tables.Column(verbose_name="From", default="not known")
    received_on = tables.DateColumn(verbose_name="Came in", format="j M Y")
    last_day = tables.DateColumn(verbose_name="Usable through", format="j M Y", default="no date")

    class Meta:
        model = Lot
        fields = ("code", "supplier", "received_on", "last_day")
        orderable = False


class OrderTable(tables.Table):
    """Orders with their lines; sorted by what the database holds."""

    pk = tables.Column(verbose_name="Order", attrs=_WHOLE)
    supplier = tables.Column(verbose_name="From", linkify=True, order_by="supplier__name")
    what = tables.Column(verbose_name="What", empty_values=(), orderable=False)
    state = tables.Column(verbose_name="State")
    sent_on = tables.DateColumn(verbose_name="Sent", format="j M Y", default="–", attrs=_WHOLE)
    expected_on = tables.DateColumn(verbose_name="Expected", format="j M Y", default="–", attrs=_WHOLE)
    received_on = tables.DateColumn(verbose_name="All came", format="j M Y", default="–", attrs=_WHOLE)

    class Meta:
        model = Order
        fields = ("pk", "supplier", "what", "state", "sent_on", "expected_on", "received_on")
        empty_text = "No order here."

    def __init__(self, rows: Any, *, reader: Person, **rest: Any) -> None:
        self.reader, self.day = reader, clock.today()
        super().__init__(rows, **rest)

    def render_pk(self, record: Order) -> SafeString:
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), record)

    def render_what(self, record: Order) -> str:
        return lines_in_words(record.lines.all(), self.reader) or "nothing yet"

    def render_state(self, record: Order) -> SafeString | str:
        said = record.get_state_display()
        return format_html('{} <span class="badge">late</span>', said) if record.is_late(self.day) else said


class CountTable(tables.Table):
    name = tables.Column(verbose_name="Count", accessor="pk")
    about = tables.Column(verbose_name="Of what")
    state = tables.Column(verbose_name="State", attrs=_WHOLE)
    done = tables.Column(verbose_name="Counted", attrs=_WHOLE)
    started_at = tables.Column(verbose_name="Begun", attrs=_WHOLE)
    started_by = tables.Column(verbose_name="By")

    class Meta:
        orderable = False
        empty_text = "Nothing was counted yet."

    def render_name(self, record: Count) -> SafeString:
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), record)

    def render_state(self, record: Count) -> str:
        return record.get_state_display()

    def render_done(self, record: Any) -> str:
        return f"{record.done} of {record.lots}"

    def render_started_at(self, value: Any) -> str:
        return _when(value)


class SupplierTable(tables.Table):
    name = tables.Column(verbose_name="Supplier")
    lead_days = tables.Column(verbose_name="Promises, in days", default="nothing", attrs=_NUMBER)
    items = tables.Column(verbose_name="Items", attrs=_NUMBER)
    note = tables.Column(verbose_name="Note", orderable=False)
    is_active = tables.Column(verbose_name="Ordered from")

    class Meta:
        model = Supplier
        fields = ("name", "lead_days", "items", "note", "is_active")
        empty_text = "No supplier yet. Add the one your blanks come from."

    def __init__(self, rows: Any, *, reader: Person) -> None:
        self.reader = reader
        super().__init__(rows)

    def render_name(self, record: Supplier) -> SafeString:
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), record.name)

    def render_is_active(self, value: bool) -> str:
        return "yes" if value else "no longer"


class DefectTable(tables.Table):
    name = tables.Column(verbose_name="Defect")
    blames_lot = tables.Column(verbose_name="Speaks against the lot")
    is_active = tables.Column(verbose_name="Offered")

    class Meta:
        model = Defect
        fields = ("name", "blames_lot", "is_active")
        empty_text = "No defect on the list yet. Add what you see: it is what spoiled blanks are counted by."

    def __init__(self, rows: Any, *, reader: Person) -> None:
        self.reader = reader
        super().__init__(rows)

    def render_name(self, record: Defect) -> SafeString | str:
        return _to_change(record, "stock:change-defect", may(self.reader, actions.change_defect))

    def render_blames_lot(self, value: bool) -> str:
        return "yes" if value else "no"

    def render_is_active(self, value: bool) -> str:
        return "yes" if value else "no longer"


def _to_change(row: Any, address: str, allowed: bool) -> SafeString | str:
    """The row's name, a link to the page that changes it for those who may."""
    return format_html('<a href="{}">{}</a>', reverse(address, args=[row.pk]), row.name) if allowed else row.name
