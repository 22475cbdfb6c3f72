"""Labels for lots and shelves: what each says, its code, and how a sheet of paper is parted into them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from django.utils.safestring import SafeString

from shop.codes import Opens, draw
from shop.people.models import Paper
from shop.stock.models import BlankSize, Item, Lot

#: The most labels of one press: twenty sheets of A4.
MOST_LABELS = 480


@dataclass(frozen=True)
class Grid:
    """How many labels a sheet holds across and down; their measures are in static/shop/label_paper.css."""

    across: int
    down: int

    @property
    def on_a_sheet(self) -> int:
        return self.across * self.down


#: Our own parting of each paper, by a value of people.models.Paper.
GRIDS = {Paper.A4: Grid(3, 8), Paper.LETTER: Grid(3, 10)}


@dataclass(frozen=True)
class Label(Opens):
    """title: what it is; size: of a blank, else ""; code: the lot's, else ""; address: what its code opens.

    facts: further lines as (word, value).
    """

    title: str
    size: str = ""
    code: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    drawn: SafeString = field(default=SafeString(""), compare=False)


def lot_label(lot: Lot, address: str) -> Label:
    """The label of a lot, opening `address`. The lot's item must be at hand."""
    item = lot.item
    made = ("made", _short(lot.made_on)) if lot.made_on else ("came in", _short(lot.received_on))
    last = ("usable through", _short(lot.last_day)) if lot.last_day else ("no date", "")
    held = (("on hold", ""),) if lot.is_held and lot.on_hand else ()
    facts = (*held, made, last, *((("place", item.place),) if item.place else ()))
    return Label(address, item.name, _size(item), lot.code, facts, draw(address))


def shelf_label(item: Item, address: str) -> Label:
    """The label of the place where an item stands, opening `address`."""
    facts = ((("place", item.place),) if item.place else ()) + (("kept as", item.get_kind_display().lower()),)
    return Label(address, item.name, _size(item), "", facts, draw(address))


def sheets(labels: Sequence[Label], *, copies: int, start: int, grid: Grid) -> list[list[Label | None]]:
    """The labels, each `copies` times in a row, by sheet; None where the first sheet is left empty before `start`.

    start: the first label of the first sheet that is free, counted from 1, along the rows.
    """
    cells: list[Label | None] = [None] * (start - 1)
    cells += [label for label in labels for _ in range(copies)]
    return [cells[first : first + grid.on_a_sheet] for first in range(0, len(cells), grid.on_a_sheet)]


def _size(item: Item) -> str:
    return BlankSize(item.blank_in).label if item.blank_in else ""


def _short(day: date) -> str:
    """Its parts kept on one line."""
    return f"{day.day}\u00a0{day:%b}\u00a0{day.year}"
