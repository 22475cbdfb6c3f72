"""The demo room's storekeeping: what is ordered when, what comes, and what is wrong with it."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from shop import clock
from shop.demo import cast
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.stock import actions as stock
from shop.stock.models import Defect, Item, Lot, Supplier
from shop.stock.queries import Level, levels, usable_lots


@dataclass
class Coming:
    item: Item
    quantity: int
    due: date


class Supplies:
    """Keeps the shelves as a careful shop would: orders when low, receives what comes, throws out what is bad."""

    def __init__(self, hands: Hands, owner: Person) -> None:
        self.hands, self.owner = hands, owner
        self.coming: list[Coming] = []
        self.poor: set[int] = set()
        self.shelves: dict[int, cast.Shelf] = {}
        self.items: dict[str, Item] = {}

    def open(self) -> None:
        suppliers = [
            self.hands.do(stock.add_supplier, by=self.owner, name=name, lead_days=days, note=note)
            for name, days, note in cast.SUPPLIERS
        ]
        for shelf in cast.SHELVES:
            item = Item.objects.get(name=shelf.item)
            self.items[item.name] = self.hands.do(
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
                supplier=suppliers[shelf.supplier],
                note=item.note,
            )
            self.shelves[item.pk] = shelf
            self.receive(Coming(self.items[item.name], shelf.first, clock.today()), by=self.owner)

    def blank(self, size: int) -> Item:
        return next(item for item in self.items.values() if item.blank_in == size)

    def receive(self, came: Coming, *, by: Person) -> Lot:
        rng = self.hands.rng
        today = clock.today()
        supplier: Supplier | None = came.item.supplier
        made_on = today - timedelta(days=rng.randint(12, 45)) if came.item.blank_in else None
        letters = "".join(word[0] for word in (supplier.name if supplier else "House").split()[:2])
        lot: Lot = self.hands.do(
            stock.receive_delivery,
            by=by,
            item=came.item,
            code=f"{letters}-{today:%y}{rng.randint(100, 999)}{came.item.pk}",
            quantity=came.quantity,
            supplier=supplier,
            received_on=today,
            made_on=made_on,
            unit_cost=(
                Decimal(self.shelves[came.item.pk].cost) * Decimal(str(round(rng.uniform(0.96, 1.08), 3)))
            ).quantize(Decimal("0.0001")),
        )
        if came.item.blank_in and rng.random() < cast.POOR_LOT_SHARE:
            self.poor.add(lot.pk)
        if came.item.blank_in and rng.random() < (0.8 if lot.pk in self.poor else 0.15):
            self.hands.do(
                stock.spoil_stock,
                by=by,
                lot=lot,
                quantity=rng.randint(1, 3),
                defect=rng.choice(list(Defect.objects.filter(is_active=True))),
                note="found when the box was opened",
            )
        return lot

    def morning(self, by: Person) -> None:
        """Take in what has come, and order what runs low."""
        today = clock.today()
        for came in [c for c in self.coming if c.due <= today]:
            self.coming.remove(came)
            self.receive(came, by=by)
        rng = self.hands.rng
        there = levels(today, self.items.values())
        for item in self.items.values():
            if any(c.item.pk == item.pk for c in self.coming):
                continue
            shelf = self.shelves[item.pk]
            if there.get(item.pk, Level()).usable < shelf.ample:
                promised = (item.supplier.lead_days if item.supplier else None) or 7
                due = today + timedelta(days=round(promised * rng.uniform(0.9, 1.7)))
                self.coming.append(Coming(item, shelf.order, due))

    def use_up(self, name: str, quantity: int, *, by: Person, note: str) -> None:
        """Take a little of a liquid or a part, first expired first: the last of one lot, then the next."""
        for lot in usable_lots(day=clock.today(), item=self.items[name]):
            taken = min(lot.on_hand, quantity)
            if taken:
                self.hands.do(stock.use_stock, by=by, lot=lot, quantity=taken, note=note)
            quantity -= taken

    def count_shelf(self, *, by: Person) -> None:
        """Count one lot in each quarter of a year; once it is one short."""
        lot = usable_lots(day=clock.today(), item=self.blank(12)).first()
        if lot is None or lot.on_hand < 2:
            return
        short = self.hands.rng.random() < 0.4
        self.hands.do(
            stock.count_lot,
            by=by,
            lot=lot,
            counted=lot.on_hand - short,
            reason="one was lent to the lecture room and never written down" if short else "",
        )

    def throw_out(self, *, by: Person) -> None:
        """Spoil what is past its date."""
        today = clock.today()
        defect = Defect.objects.filter(is_active=True).first()
        for lot in Lot.objects.filter(last_day__lt=today, on_hand__gt=0).select_related("item"):
            self.hands.do(
                stock.spoil_stock, by=by, lot=lot, quantity=lot.on_hand, defect=defect, note="past its last day"
            )
