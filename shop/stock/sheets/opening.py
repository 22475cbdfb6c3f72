"""Rows about what is and was in stock: lots with what is left of them, and use from before the ledger."""

from datetime import date, timedelta
from decimal import Decimal

from shop import bulk, clock
from shop.people.models import Person
from shop.press.rules import words
from shop.stock import ledger
from shop.stock.actions.coming import lot_facts
from shop.stock.amounts import kind_of
from shop.stock.models import (
    USE,
    Intake,
    Item,
    Lot,
    Movement,
    PastUse,
    Remark,
    RemarkKind,
    SheetKind,
    StockUnit,
    Supplier,
)
from shop.stock.sheets.checking import NO_ITEM, NO_SUPPLIER, Checker, Row, names_of
from shop.stock.sheets.reading import Read
from shop.wording import in_full


def _item_of(row: Row, items: dict[str, Item]) -> Item | None:
    """The row's item; the unit, if it is given, must be the item's own."""
    row.words("item", needed=True)
    item = row.one_of("item", items, why=NO_ITEM)
    unit = row.words("unit")
    if item is not None and unit and unit.casefold() not in (item.unit, StockUnit(item.unit).label):
        row.wrong("unit", f"{item.name} is kept in “{StockUnit(item.unit).label}”. Give the amount in that.")
    return item


#: What is compared of a lot that is here already, in this order.
_COMPARED = ("quantity", "received_on", "made_on", "best_before", "unit_cost")


def _compare(row: Row, told: tuple[object, ...], here: tuple[object, ...]) -> None:
    """Remark on what the row says otherwise than what is here, which stays. What it leaves empty says nothing."""
    for key, new, old in zip(_COMPARED, told, here, strict=True):
        if new is not None and new != old:
            row.doubt(key, f"Differs: {_shown(new)} in the file, {_shown(old)} here. What is here stays.")


def _shown(value: object) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, date):
        return in_full(value)
    return f"{value.normalize():f}" if isinstance(value, Decimal) else str(value)


class LotChecker(Checker):
    """Lots come in as by a delivery: by the same check of their facts, and as received in the ledger, now."""

    kind = SheetKind.LOTS

    def __init__(self, read: Read, intake: Intake, by: Person) -> None:
        super().__init__(read, intake, by)
        self.items, self.suppliers = names_of(Item), names_of(Supplier)
        #: By supplier and folded code: the item, and the row that named it, 0 for a lot that is here already.
        self.first: dict[tuple[int, str], tuple[int, int]] = {}
        #: The same code of the supplier on further items, with those.
        self.more: dict[tuple[int, str, int], int] = {}
        #: What of those that are here is compared, by supplier, folded code and item.
        self.here: dict[tuple[int, str, int], tuple[object, ...]] = {}
        for item, supplier, code, *facts in Lot.objects.values_list(
            "item_id", "supplier_id", "code", "on_hand", "received_on", "made_on", "best_before", "unit_cost"
        ).iterator():
            self._seen(item, supplier or 0, code, 0)
            self.here[supplier or 0, code.casefold(), item] = tuple(facts)

    def _seen(self, item: int, supplier: int, code: str, number: int) -> tuple[int, int | None]:
        """The row that named that lot first (`number` if this does), and another item that has its code, if any."""
        folded = code.casefold()
        other, row = self.first.setdefault((supplier, folded), (item, number))
        if other == item:
            return row, None
        return self.more.setdefault((supplier, folded, item), number), other

    def check(self, row: Row) -> tuple[Lot, int] | None:
        item = _item_of(row, self.items)
        supplier = row.one_of("supplier", self.suppliers, why=NO_SUPPLIER)
        code = row.words("code", needed=True)
        quantity = row.whole("quantity", kind=(kind_of(item) or "") if item else "")
        if quantity is None and not row.is_bad:
            row.wrong("quantity", "There is nothing in that cell. A lot with nothing left need not come in.")
        received, made, best = row.day("received_on"), row.day("made_on"), row.day("best_before")
        cost, note, held = row.decimal("unit_cost"), row.words("note"), row.words("held_why")
        if row.is_bad or item is None or quantity is None:
            return None
        facts, doubts = lot_facts(
            item=item,
            code=code,
            quantity=quantity or 1,
            received_on=received,
            made_on=made,
            best_before=best,
            unit_cost=cost,
            note=note,
        )
        held = words(held, field="held_why", longest=300)
        first, other = self._seen(item.pk, supplier.pk if supplier else 0, facts["code"], row.number)
        if first != row.number:
            if first:
                row.wrong("code", f"Row {first} has {self.sheet.same} in common with it. Keep one of them.")
            else:
                self.kept += 1
                here = self.here[supplier.pk if supplier else 0, facts["code"].casefold(), item.pk]
                _compare(row, (quantity, received, made, best, cost), here)
            return None
        if not quantity:
            row.doubt("quantity", "Nothing is left of that lot, so it does not come in.")
            return None
        for doubt in doubts:
            row.doubt(doubt.field, doubt.sentence)
        if other is not None and supplier is not None:
            row.doubt("code", f"Another item of {supplier.name} has that code too. Is it right?")
        lot = Lot(item=item, supplier=supplier, **facts)
        if held:
            lot.held_at, lot.held_by, lot.held_why = clock.now(), self.by, held
        return lot, quantity

    def write(self, batch: list[tuple[Lot, int]]) -> None:
        # As of now, whenever a lot came in: what it held in between is not known, so the ledger begins here.
        note = f"Opening stock, from the file “{self.intake.name}”"
        ledger.receive_new(batch, at=clock.now(), by=self.by, note=note)
        Remark.objects.bulk_create(
            Remark(lot=lot, kind=RemarkKind.HELD, at=lot.held_at, by=self.by, note=lot.held_why)
            for lot, _ in batch
            if lot.held_at is not None
        )


class PastUseChecker(Checker):
    """Use on a day or in a week. A week of an item is told in one of the two ways, and never by the ledger as well."""

    kind = SheetKind.PAST_USE

    def __init__(self, read: Read, intake: Intake, by: Person) -> None:
        super().__init__(read, intake, by)
        self.items = names_of(Item)
        self.today = clock.today()
        self.began: dict[int, date | None] = {}
        #: By item and day, and whether the whole week is meant: how much is kept already.
        self.there: dict[tuple[int, int, bool], int] = {}
        self.seen: dict[tuple[int, int, bool], int] = {}
        #: By item and Monday: whether that week is told as a whole.
        self.whole: dict[tuple[int, int], bool] = {}
        kept = PastUse.objects.values_list("item_id", "day", "monday", "whole_week", "quantity")
        for item, day, monday, whole, quantity in kept.iterator():
            key = (item, day.toordinal(), whole)
            self.there[key] = quantity
            self.whole[item, monday.toordinal()] = whole

    def check(self, row: Row) -> PastUse | None:
        item = _item_of(row, self.items)
        week, on = row.day("week"), row.day("day")
        quantity = row.whole("quantity", kind=(kind_of(item) or "") if item else "")
        if quantity is None and not row.is_bad:
            row.wrong("quantity", "There is nothing in that cell. Write 0 if none was used.")
        if not row.is_bad and (week is None) == (on is None):
            row.wrong("week" if "week" in self.read.headings else "day", "Give the week or the day, one of them.")
        day = week or on
        if row.is_bad or item is None or quantity is None or day is None:
            return None
        monday = day - timedelta(days=day.weekday())
        is_week = week is not None
        if is_week:
            day = monday
        column = "week" if is_week else "day"
        if why := self._too_late(item, monday + timedelta(days=6) if is_week else day, is_week=is_week):
            row.wrong(column, why)
            return None
        key = (item.pk, day.toordinal(), is_week)
        if self.whole.setdefault((item.pk, monday.toordinal()), is_week) != is_week:
            row.wrong(
                column, f"The week of {in_full(monday)} is told both as a whole and by days. Keep one of the two."
            )
            return None
        if (kept := self.there.get(key)) is not None and kept != quantity:
            row.wrong("quantity", f"{kept} is kept for that already. Take the row out, or put it right.")
            return None
        if key in self.there:
            self.seen.setdefault(key, 0)
        if not self.once(self.seen, key, row, column):
            return None
        return PastUse(item=item, day=day, whole_week=is_week, monday=monday, quantity=quantity, intake=self.intake)

    def _too_late(self, item: Item, last: date, *, is_week: bool) -> str:
        """Why use through the day `last` is the ledger's to tell, or cannot be; "" if it is from before."""
        if last.year < 1970:
            return "That is before 1970: look at the year again."
        if last >= self.today:
            span = "That week is not over" if is_week else "That day is not over"
            return f"{span}: what is used from today on is entered as movements."
        began = self._began(item)
        if began is not None and last >= began:
            return f"The ledger tells of use of it from {in_full(began)} on. Past use ends before that."
        return ""

    def _began(self, item: Item) -> date | None:
        """The day of the first use of the item in the ledger."""
        if item.pk not in self.began:
            first = Movement.objects.filter(item=item, kind__in=USE).order_by("at", "id").values_list("at", flat=True)
            moment = first.first()
            self.began[item.pk] = clock.day_of(moment) if moment else None
        return self.began[item.pk]

    def write(self, batch: list[PastUse]) -> None:
        bulk.insert(batch)
