"""The demo room's storekeeping: what is ordered when, what comes, and what is wrong with it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from shop import clock
from shop.demo import cast
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.stock import actions as stock
from shop.stock.models import Defect, Item, ItemKind, Lot, Order, OrderLine, Outcome, Supplier
from shop.stock.queries import Level, levels, orders_under_way, usable_lots

#: So many days before its end the story sends off an order that is late on the last morning, and one for blanks that
#: is on its way then.
LATE_FOR, UNDER_WAY_FOR = 12, 24


@dataclass
class Coming:
    """What will come on a line of an order, and when."""

    line: OrderLine
    quantity: int
    due: date


class Supplies:
    """Keeps the shelves as a careful shop would: orders when low, receives what comes, throws out what is bad.

    ends_on: the last day of the story.
    """

    def __init__(self, hands: Hands, owner: Person, ends_on: date) -> None:
        self.hands, self.owner, self.ends_on = hands, owner, ends_on
        self.coming: list[Coming] = []
        self.poor: set[int] = set()
        self.shelves: dict[int, cast.Shelf] = {}
        self.items: dict[str, Item] = {}
        self.firms: dict[int, cast.Firm] = {}
        self.staged: set[str] = set()
        self.left_alone: Order | None = None
        self.boxes = 0
        self.defects: list[Defect] = []

    def open(self) -> None:
        self.defects = list(Defect.objects.filter(is_active=True, blames_lot=True))
        suppliers = [self._enter(firm) for firm in cast.SUPPLIERS]
        for shelf in cast.SHELVES:
            supplier = suppliers[shelf.supplier]
            item = self._keep(Item.objects.get(name=shelf.item), shelf, supplier)
            self.items[item.name], self.shelves[item.pk] = item, shelf
            self.hands.do(
                stock.receive_delivery,
                by=self.owner,
                item=item,
                supplier=supplier,
                quantity=shelf.first,
                unit_cost=self._price(item),
                **self._read_off_the_box(item, supplier),
            )

    def _enter(self, firm: cast.Firm) -> Supplier:
        supplier: Supplier = self.hands.do(
            stock.add_supplier,
            by=self.owner,
            name=firm.name,
            lead_days=firm.lead_days,
            lead_note=firm.lead_note,
            contact=firm.contact,
            note=firm.note,
        )
        self.firms[supplier.pk] = firm
        return supplier

    def _keep(self, item: Item, shelf: cast.Shelf, supplier: Supplier) -> Item:
        item = self.hands.do(
            stock.change_item,
            by=self.owner,
            item=item,
            version=item.version,
            name=item.name,
            kind=item.kind,
            unit=item.unit,
            blank_in=item.blank_in,
            minimum=shelf.minimum,
            shelf_days=shelf.shelf_days,
            supplier=supplier,
            note=item.note,
        )
        item = self.hands.do(
            stock.plan_item,
            by=self.owner,
            item=item,
            version=item.version,
            pack_size=shelf.pack,
            minimum_order=shelf.pack,
            place=shelf.place,
        )
        return item

    def blank(self, size: int) -> Item:
        return next(item for item in self.items.values() if item.blank_in == size)

    # What comes -------------------------------------------------------------------------------------------------------

    def morning(self, *, by: Person, engineer: Person) -> None:
        """Take in what has come, ask after what is late, and order what runs low. engineer: who sends orders."""
        today = clock.today()
        for came in [c for c in self.coming if c.due <= today]:
            self.coming.remove(came)
            self._receive(came, by=by)
        for order in orders_under_way().filter(expected_on__lt=today - timedelta(days=1)):
            if order != self.left_alone:
                self._ask_after(order, by=by, engineer=engineer)
        self._stage(by=by, engineer=engineer)
        self._order_what_is_low(by=by, engineer=engineer)

    def _receive(self, came: Coming, *, by: Person) -> None:
        rng, line = self.hands.rng, came.line
        lot: Lot = self.hands.do(
            stock.receive_on_order,
            by=by,
            line=line,
            quantity=came.quantity,
            unit_cost=line.unit_cost,
            **self._read_off_the_box(line.item, line.order.supplier),
        )
        if line.item.blank_in is None:
            return
        is_poor = rng.random() < cast.POOR_LOT_SHARE
        if is_poor:
            self.poor.add(lot.pk)
        if rng.random() < 0.8:
            self._look_over(lot, is_poor, by=by)

    def _read_off_the_box(self, item: Item, supplier: Supplier) -> dict[str, Any]:
        """Code and dates of a lot that comes today."""
        rng, today = self.hands.rng, clock.today()
        letters = "".join(word[0] for word in supplier.name.split()[:2])
        made_on = today - timedelta(days=rng.randint(12, 45)) if item.blank_in else None
        self.boxes += 1
        code = f"{letters}-{today:%y}{1000 + 7 * self.boxes}"
        return {"code": code, "received_on": today, "made_on": made_on}

    def _look_over(self, lot: Lot, is_poor: bool, *, by: Person) -> None:
        rng, looked_at = self.hands.rng, min(10, lot.on_hand)
        faulty = sum(rng.random() < (0.2 if is_poor else 0.01) for _ in range(looked_at))
        self.hands.do(
            stock.inspect_lot,
            by=by,
            lot=lot,
            looked_at=looked_at,
            outcome=Outcome.ACCEPT,
            found=[stock.Found(rng.choice(self.defects), faulty)] if faulty else [],
            note="sorted by hand; the rest looks even" if faulty > 2 else "",
        )

    def _ask_after(self, order: Order, *, by: Person, engineer: Person) -> None:
        """Ring the supplier: it gives another day, or says that the rest will not come."""
        left = [came for came in self.coming if came.line.order_id == order.pk]
        if not left:
            why = "the rest is not to be had; taken off the bill"
            self.hands.do(stock.close_order_short, by=engineer, order=order, why=why)
            return
        day = max(max(came.due for came in left), clock.today()) + timedelta(days=self.hands.rng.randint(0, 3))
        if day != order.expected_on:
            why = self.hands.rng.choice(cast.EXCUSES)
            self.hands.do(stock.promise_anew, by=by, order=order, expected_on=day, why=why)

    # What is ordered --------------------------------------------------------------------------------------------------

    def _order_what_is_low(self, *, by: Person, engineer: Person) -> None:
        there = levels(clock.today(), self.items.values())
        low: dict[int | None, list[Item]] = {}
        for item in self._not_waited_for(*self.items.values()):
            if there.get(item.pk, Level()).usable < self.shelves[item.pk].ample:
                low.setdefault(item.supplier_id, []).append(item)
        for items in low.values():
            self._order(items, by=by, engineer=engineer)

    def _order(self, items: Iterable[Item], *, by: Person, engineer: Person, due: date | None = None) -> Order:
        """Draft and send an order. due: when it comes; else as its supplier takes its time."""
        order = self._draft(items, by=by)
        self.hands.do(stock.send_order, by=engineer, order=order, version=order.version)
        firm, rng = self.firms[order.supplier_id], self.hands.rng
        due = due or clock.today() + timedelta(days=round(firm.lead_days * rng.uniform(*firm.slow)))
        for line in order.lines.select_related("item", "order__supplier"):
            self._let_come(line, due)
        return order

    def _draft(self, items: Iterable[Item], *, by: Person) -> Order:
        asked = [stock.WantedLine(item, self.shelves[item.pk].order, self._price(item)) for item in items]
        order: Order = self.hands.do(stock.draft_order, by=by, supplier=asked[0].item.supplier, lines=asked)
        return order

    def _let_come(self, line: OrderLine, due: date) -> None:
        """All of a line at once; some in two parts, and of a few of these the second never."""
        rng, pack = self.hands.rng, self.shelves[line.item_id].pack
        first = line.quantity
        if line.quantity >= 3 * pack and rng.random() < 0.35:
            first = pack * (2 * line.quantity // pack // 3)
            if rng.random() < 0.75:
                self.coming.append(Coming(line, line.quantity - first, due + timedelta(days=rng.randint(4, 15))))
        self.coming.append(Coming(line, first, due))

    def _price(self, item: Item) -> Decimal:
        usual = Decimal(self.shelves[item.pk].cost)
        return (usual * Decimal(str(round(self.hands.rng.uniform(0.96, 1.08), 3)))).quantize(Decimal("0.0001"))

    def _stage(self, *, by: Person, engineer: Person) -> None:
        """Near its end: an order that nobody asks after is late on the last morning, another is on its way, and one is
        written down and waits to be sent."""
        left = (self.ends_on - clock.today()).days
        if left <= UNDER_WAY_FOR and "blanks" not in self.staged:
            self.staged.add("blanks")
            if items := self._not_waited_for(self.blank(12), self.blank(10)):
                self._order(items, by=by, engineer=engineer, due=self.ends_on + timedelta(days=16))
        if left <= LATE_FOR and "sundries" not in self.staged:
            self.staged.add("sundries")
            names = "Lint-free wipes", "Talc", "Chip trap filter", "Chip hose"
            if items := self._not_waited_for(*(self.items[name] for name in names))[:2]:
                due = self.ends_on + timedelta(days=3)
                self.left_alone = self._order(items, by=by, engineer=engineer, due=due)
        if left <= 3 and "draft" not in self.staged:
            self.staged.add("draft")
            self._draft([self.items["Cutting stylus"]], by=by)

    def _not_waited_for(self, *items: Item) -> list[Item]:
        waited_for = {came.line.item_id for came in self.coming}
        return [item for item in items if item.pk not in waited_for]

    # What goes --------------------------------------------------------------------------------------------------------

    def count_shelf(self, *, by: Person, agreed_by: Person) -> None:
        """Count the blanks in each quarter of a year; now and then a lot is one short."""
        lot = usable_lots(day=clock.today(), item=self.blank(12)).first()
        if lot is None:
            return
        short = lot.on_hand > 1 and self.hands.rng.random() < 0.4
        do = self.hands.do
        count = do(stock.start_count, by=by, which="kind", kind=ItemKind.BLANK)
        lines = list(count.lines.select_related("lot"))
        found = [stock.Counted(line, line.lot.on_hand - (short and line.lot_id == lot.pk)) for line in lines]
        do(stock.enter_count, by=by, count=count, counted=found)
        do(stock.give_in_count, by=by, count=count)
        if short:
            why = "one was lent to the lecture room and never written down"
            reasons = [stock.Explained(line, why) for line in lines if line.lot_id == lot.pk]
            do(stock.explain_count, by=by, count=count, reasons=reasons)
        do(stock.agree_count, by=agreed_by, count=count)

    def throw_out(self, *, by: Person) -> None:
        """Spoil what is past its date."""
        today = clock.today()
        defect = Defect.objects.get(name="Past its date")
        for lot in Lot.objects.filter(last_day__lt=today, on_hand__gt=0).select_related("item"):
            self.hands.do(
                stock.spoil_stock, by=by, lot=lot, quantity=lot.on_hand, defect=defect, note="past its last day"
            )
