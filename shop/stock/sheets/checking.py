"""Each row of a sheet against the rules and what is kept; what passes becomes rows of the tables, in batches.

A checker goes through a file twice: once only to say what is wrong (`write=False`), and once more inside the
transaction that takes it in. What is kept already is left as it is, so that the same file twice makes no doubles.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from shop.people.models import Person
from shop.refusal import Refused
from shop.stock.actions.catalogue import item_facts, supplier_facts
from shop.stock.actions.planning import plan_facts
from shop.stock.models import BlankSize, Intake, Item, ItemKind, SheetKind, StockUnit, Supplier
from shop.stock.sheets import cells
from shop.stock.sheets.columns import SHEETS
from shop.stock.sheets.faults import Found
from shop.stock.sheets.reading import Read
from shop.wording import in_full

T = TypeVar("T")

#: Rows written in one statement.
BATCH = 500
#: New rows shown as they would come in.
_SHOWN = 5


class Row:
    """One row of the file. Each question for a cell notes what is wrong with it, and gives None then."""

    def __init__(self, checker: "Checker", number: int, given: dict[str, object]) -> None:
        self.checker, self.number, self.given = checker, number, given
        self.is_bad = False
        self.read: dict[str, object] = {}

    def wrong(self, key: str, why: str) -> None:
        self.is_bad = True
        self.checker.faults.add(self.number, self.checker.heading(key), self._shown(key), why)

    def doubt(self, key: str, why: str) -> None:
        self.checker.doubts.add(self.number, self.checker.heading(key), self._shown(key), why)

    def words(self, key: str, *, needed: bool = False) -> str:
        text = self._ask(key, cells.words) or ""
        if needed and not text and not self.is_bad:
            self.wrong(key, "There is nothing in that cell.")
        return text

    def whole(self, key: str, *, low: int = 0, kind: str = "") -> int | None:
        return self._ask(key, lambda value: cells.whole(value, self.checker.read.mark, low=low, kind=kind))

    def decimal(self, key: str) -> Decimal | None:
        return self._ask(key, lambda value: cells.plain_number(value, self.checker.read.mark))

    def day(self, key: str) -> date | None:
        return self._ask(key, lambda value: cells.day(value, self.checker.read.orders.get(key, "")))

    def yes(self, key: str, *, empty: bool) -> bool:
        answer = self._ask(key, lambda value: cells.yes(value, empty=empty))
        return empty if answer is None else answer

    def one_of(self, key: str, choices: dict[str, T], *, why: str) -> T | None:
        """What the cell names among `choices`, whose keys are folded; None for nothing."""
        text = self.words(key)
        if not text:
            return None
        found = choices.get(text.casefold())
        if found is None:
            self.wrong(key, why)
        return found

    def _ask(self, key: str, question: Callable[[object], T]) -> T | None:
        try:
            answer = question(self.given.get(key))
        except cells.Unfit as unfit:
            self.wrong(key, str(unfit))
            return None
        self.read[key] = answer
        return answer

    def _shown(self, key: str) -> object:
        value = self.given.get(key)
        return in_full(value) if isinstance(value, date) else value


class Checker(ABC):
    """Goes through the rows of one file. new, kept: how many are to come in, and how many are here already."""

    kind: SheetKind

    def __init__(self, read: Read, intake: Intake, by: Person) -> None:
        self.read, self.intake, self.by = read, intake, by
        self.sheet = SHEETS[self.kind]
        self.faults, self.doubts = Found(), Found()
        self.new = self.kept = 0
        self.sample: list[list[tuple[str, str]]] = []
        self._batch: list[Any] = []

    def heading(self, key: str) -> str:
        """As the file writes it, else as we do."""
        return self.read.headings.get(key) or self.sheet.column(key).heading

    def run(
        self, rows: Iterable[tuple[int, dict[str, object]]], *, write: bool, progress: Callable[[int], None]
    ) -> None:
        """Look at all rows; write what is new if told to, and as long as nothing is wrong."""
        done = 0
        for done, (number, given) in enumerate(rows, start=1):
            row = Row(self, number, given)
            try:
                made = self.check(row)
            except Refused as no:
                row.wrong(no.field or self.sheet.columns[0].key, no.sentence)
                continue
            if made is None or row.is_bad:
                continue
            self.new += 1
            if len(self.sample) < _SHOWN:
                self.sample.append([(self.heading(key), _said(row.read.get(key))) for key in self.read.headings])
            if write:
                self._batch.append(made)
                if len(self._batch) >= BATCH:
                    self._settle()
            if done % BATCH == 0:
                progress(done)
        if write:
            self._settle()
        progress(done)

    def _settle(self) -> None:
        if self._batch and not self.faults:
            self.write(self._batch)
        self._batch = []

    def once(self, seen: dict[Any, int], key: Any, row: Row, column: str) -> bool:
        """Whether `key` is new. Notes a row that says the same thing as one before; counts what is here already.

        seen: by key the row that first named it, 0 for what is kept already.
        """
        first = seen.setdefault(key, row.number)
        if first == row.number:
            return True
        if first:
            row.wrong(column, f"Row {first} has {self.sheet.same} in common with it. Keep one of them.")
        elif not row.is_bad:
            self.kept += 1
        return False

    @abstractmethod
    def check(self, row: Row) -> Any:
        """What the row is to become, or None if it is here already or something is wrong. Refused is noted."""

    @abstractmethod
    def write(self, batch: list[Any]) -> None:
        """Write what `check` made; inside the transaction."""


def _said(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return in_full(value)
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def names_of(model: Any) -> dict[str, Any]:
    """The rows of a table of named things, by folded name."""
    return {row.name.casefold(): row for row in model.objects.all()}


NO_SUPPLIER = "There is no supplier of that name here. Take in the suppliers first, or put the name right."
NO_ITEM = "There is no item of that name here. Take in the items first, or put the name right."


class SupplierChecker(Checker):
    kind = SheetKind.SUPPLIERS

    def __init__(self, read: Read, intake: Intake, by: Person) -> None:
        super().__init__(read, intake, by)
        self.seen = dict.fromkeys((name.casefold() for name in _names(Supplier)), 0)

    def check(self, row: Row) -> Supplier | None:
        name = row.words("name", needed=True)
        typed = {
            "lead_days": row.whole("lead_days"),
            "lead_note": row.words("lead_note"),
            "contact": row.words("contact"),
            "note": row.words("note"),
        }
        is_active = row.yes("is_active", empty=True)
        if row.is_bad or not self.once(self.seen, name.casefold(), row, "name"):
            return None
        facts: Any = supplier_facts(name=name, **typed)  # type: ignore[arg-type]
        return Supplier(**facts, is_active=is_active)

    def write(self, batch: list[Supplier]) -> None:
        Supplier.objects.bulk_create(batch)


_KINDS = {name.casefold(): kind for kind in ItemKind for name in (kind.value, kind.label)}
_UNITS = {"pcs": StockUnit.EACH, "piece": StockUnit.EACH, "pieces": StockUnit.EACH} | {
    name.casefold(): unit for unit in StockUnit for name in (unit.value, unit.label)
}
_SIZES = {name: size for size in BlankSize for name in (str(size.value), size.label, f'{size.value}"')}


class ItemChecker(Checker):
    kind = SheetKind.ITEMS

    def __init__(self, read: Read, intake: Intake, by: Person) -> None:
        super().__init__(read, intake, by)
        self.seen = dict.fromkeys((name.casefold() for name in _names(Item)), 0)
        self.suppliers = names_of(Supplier)

    def check(self, row: Row) -> Item | None:
        name = row.words("name", needed=True)
        row.words("kind", needed=True)
        kind = row.one_of("kind", _KINDS, why=f"Write one of: {', '.join(kind.label for kind in ItemKind)}.")
        unit = row.one_of("unit", _UNITS, why=f"Write one of: {', '.join(unit.label for unit in StockUnit)}.")
        size = row.one_of("blank_in", _SIZES, why="Write 14, 12 or 10.")
        supplier = row.one_of("supplier", self.suppliers, why=NO_SUPPLIER)
        counts = {key: row.whole(key) for key in ("minimum", "shelf_days", "warn_days", "minimum_order", "cover_weeks")}
        pack, room = row.whole("pack_size", low=1), row.whole("shelf_room", low=1)
        level, weekly = self._level(row), row.decimal("expected_weekly")
        place, note = row.words("place"), row.words("note")
        is_active = row.yes("is_active", empty=True)
        if row.is_bad or kind is None or not self.once(self.seen, name.casefold(), row, "name"):
            return None
        facts: Any = item_facts(
            name=name,
            kind=kind,
            unit=unit or StockUnit.EACH,
            blank_in=size,
            minimum=counts["minimum"] or 0,
            shelf_days=counts["shelf_days"],
            warn_days=30 if counts["warn_days"] is None else counts["warn_days"],
            note=note,
        )
        plan: Any = plan_facts(
            pack_size=pack or 1,
            minimum_order=counts["minimum_order"] or 0,
            service_level=level,
            cover_weeks=8 if counts["cover_weeks"] is None else counts["cover_weeks"],
            expected_weekly=None if weekly is None else float(weekly),
            shelf_room=room,
            place=place,
        )
        return Item(**facts, **plan, supplier=supplier, is_active=is_active)

    def _level(self, row: Row) -> float:
        """The service level as a share. A workbook's per cent cells hold 0.95 for 95 %; no other can be below 1."""
        read = row._ask("service_level", lambda value: cells.number(value, self.read.mark))
        if read is None:
            return 0.95
        number, unit = read
        row.read["service_level"] = number
        if unit not in ("", "%"):
            row.wrong("service_level", "Give it in per cent, as in 95.")
        return float(number if number <= 1 and not unit else number / 100)

    def write(self, batch: list[Item]) -> None:
        Item.objects.bulk_create(batch)


def _names(model: Any) -> Iterable[str]:
    names: Iterable[str] = model.objects.values_list("name", flat=True).iterator()
    return names
