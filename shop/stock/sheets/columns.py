"""What each kind of sheet holds: its columns, by what they are called, with what goes into them."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from shop.stock.models import SheetKind


class Holds(Enum):
    """What stands in a column, for telling how numbers and days are written before any is read."""

    WORDS = "words"
    NUMBER = "number"
    DAY = "day"


@dataclass(frozen=True)
class Column:
    """heading: as we write it; also: other headings that are understood; means: what goes in; example: of it."""

    key: str
    heading: str
    means: str
    example: str = ""
    holds: Holds = Holds.WORDS
    needed: bool = False
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """One kind of sheet. about: a sentence on what it is for; same: what makes two rows speak of the same thing."""

    kind: SheetKind
    about: str
    same: str
    columns: tuple[Column, ...]

    def column(self, key: str) -> Column:
        return next(column for column in self.columns if column.key == key)

    @property
    def needed(self) -> list[Column]:
        return [column for column in self.columns if column.needed]


def plain(heading: object) -> str:
    """A heading without what people vary in it: case, spaces, marks."""
    return "".join(sign for sign in str(heading).casefold() if sign.isalnum())


def find(sheet: Sheet, headings: Sequence[object]) -> dict[int, Column]:
    """The columns of a sheet among these headings, by their place; what is not understood is left out."""
    known = {plain(name): column for column in sheet.columns for name in (column.heading, column.key, *column.also)}
    return {place: known[plain(text)] for place, text in enumerate(headings) if plain(text or "") in known}


_NOTE = Column("note", "Note", "Anything worth knowing, up to 300 characters.", also=("Remark", "Notes"))
_UNIT_AGAIN = Column("unit", "Unit", "If you give it, it must be the item's own: a guard against a mix-up.", "each")
_ITEM = Column(
    "item", "Item", "The item's name, as it is kept here.", "14-inch blank", needed=True, also=("Item name",)
)

SUPPLIERS = Sheet(
    SheetKind.SUPPLIERS,
    "Whom things come from. Take these in first: items and lots name them.",
    "the supplier's name",
    (
        Column(
            "name",
            "Supplier",
            "Its name, up to 80 characters.",
            "Blankworks of Nowhere",
            needed=True,
            also=("Supplier name",),
        ),
        Column(
            "lead_days",
            "Promised lead time, days",
            "Whole days; empty if nothing is promised.",
            "42",
            Holds.NUMBER,
            also=("Lead time", "Lead days"),
        ),
        Column("lead_note", "About its lead time", "Up to 200 characters.", "Closed in August"),
        Column("contact", "Where orders go", "A mail address, a name, a number.", "orders@blankworks.example"),
        _NOTE,
        Column("is_active", "Ordered from", "yes or no; empty is yes.", "yes"),
    ),
)

ITEMS = Sheet(
    SheetKind.ITEMS,
    "The kinds of thing you keep. Quantities are whole numbers of the item's unit.",
    "the item's name",
    (
        Column("name", "Item", "Its name, up to 80 characters.", "14-inch blank", needed=True, also=("Item name",)),
        Column("kind", "Kind", "Blank, Stylus, Liquid, or Part or consumable.", "Blank", needed=True),
        Column("blank_in", "Blank size, inches", "14, 12 or 10 for a blank, empty else.", "14", also=("Blank size",)),
        Column("unit", "Unit", "each, ml, g or mm; empty is each.", "each"),
        Column("minimum", "Minimum", "Below it there is a concern; empty or 0 for none.", "40", Holds.NUMBER),
        Column("shelf_days", "Shelf days", "For lots that carry no date; empty for none.", "365", Holds.NUMBER),
        Column(
            "warn_days",
            "Days of warning",
            "Before a lot's last day; empty is 30.",
            "30",
            Holds.NUMBER,
        ),
        Column(
            "supplier",
            "Usual supplier",
            "Its name, as it is kept here; empty for none.",
            "Blankworks of Nowhere",
            also=("Supplier",),
        ),
        Column("pack_size", "Comes in packs of", "Empty is 1: singly.", "20", Holds.NUMBER, also=("Pack size",)),
        Column("minimum_order", "Smallest order", "Empty or 0 for none.", "100", Holds.NUMBER, also=("Minimum order",)),
        Column(
            "service_level",
            "Service level, %",
            "How often an order should come before the shelf is empty; empty is 95.",
            "95",
            Holds.NUMBER,
            also=("Service level",),
        ),
        Column("cover_weeks", "Weeks an order lasts", "Empty is 8.", "8", Holds.NUMBER, also=("Cover weeks",)),
        Column(
            "expected_weekly",
            "Expected use a week",
            "While there is little history; empty if you can't say.",
            "6.5",
            Holds.NUMBER,
        ),
        Column("shelf_room", "Room for at most", "Empty for no end.", "300", Holds.NUMBER, also=("Shelf room",)),
        Column("place", "Where it stands", "Up to 60 characters.", "Cupboard 2", also=("Place",)),
        _NOTE,
        Column("is_active", "Kept", "yes or no; empty is yes.", "yes"),
    ),
)

LOTS = Sheet(
    SheetKind.LOTS,
    "What is on the shelf now, lot by lot. Each enters the ledger as received today, with what is left of it.",
    "item, supplier and lot code together",
    (
        _ITEM,
        Column("supplier", "Supplier", "Its name, as it is kept here; empty if not known.", "Blankworks of Nowhere"),
        Column(
            "code", "Lot", "The supplier's lot code, up to 60 characters.", "BW-2291", needed=True, also=("Lot code",)
        ),
        Column(
            "quantity",
            "On hand",
            "What is left of it, in the item's unit: a whole number above 0.",
            "38",
            Holds.NUMBER,
            needed=True,
            also=("Quantity", "Count"),
        ),
        _UNIT_AGAIN,
        Column(
            "received_on",
            "Came in on",
            "A day; empty is today.",
            "2025-03-31",
            Holds.DAY,
            also=("Received on", "Received"),
        ),
        Column("made_on", "Made on", "A day, if it is known.", "2025-02-10", Holds.DAY, also=("Made",)),
        Column("best_before", "Best before", "A day, if the lot carries one.", "2026-02-10", Holds.DAY),
        Column(
            "unit_cost",
            "Price of one",
            "In the room's currency, for one of the item's unit.",
            "21.50",
            Holds.NUMBER,
            also=("Cost of one", "Unit cost", "Cost"),
        ),
        _NOTE,
        Column("held_why", "Why on hold", "If there is something here, the lot comes in on hold.", also=("On hold",)),
    ),
)

PAST_USE = Sheet(
    SheetKind.PAST_USE,
    "What was used before this room's ledger began, by week or by day: the outlook learns from it.",
    "the item with its week, or with its day",
    (
        _ITEM,
        Column(
            "week",
            "Week of",
            "Any day of the week, which begins on Monday. Give this or the day, not both.",
            "2024-11-04",
            Holds.DAY,
            also=("Week",),
        ),
        Column("day", "Day", "The day, if you know use by the day.", "", Holds.DAY, also=("Date", "Used on")),
        Column(
            "quantity",
            "Used",
            "How much, in the item's unit: a whole number, 0 too.",
            "7",
            Holds.NUMBER,
            needed=True,
            also=("Quantity",),
        ),
        _UNIT_AGAIN,
    ),
)

SHEETS = {sheet.kind: sheet for sheet in (SUPPLIERS, ITEMS, LOTS, PAST_USE)}
