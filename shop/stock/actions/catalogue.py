"""What the shop keeps, whom it comes from, and what can be wrong with it."""

from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Refused
from shop.stock import quality, rules
from shop.stock.models import BlankSize, Defect, Item, ItemKind, Lot, StockUnit, Supplier, last_day_of

#: The longest shelf life or time of warning that is believed, in days: fifty years.
_LONGEST_DAYS = 18_263


@action(roles=ENGINEERS)
def add_item(
    *,
    by: Person,
    name: str,
    kind: str,
    unit: str = StockUnit.EACH,
    blank_in: int | None = None,
    minimum: int = 0,
    shelf_days: int | None = None,
    warn_days: int = 30,
    supplier: Supplier | None = None,
    note: str = "",
) -> Item:
    """Keep a new kind of thing. minimum: in its unit, 0 for none; shelf_days, warn_days: see Item."""
    facts = item_facts(
        name=name,
        kind=kind,
        unit=unit,
        blank_in=blank_in,
        minimum=minimum,
        shelf_days=shelf_days,
        warn_days=warn_days,
        note=note,
    )
    twice = "There is already an item of that name."
    not_taken(Item, str(facts["name"]), sentence=twice)
    with one_of_its_name(twice):
        return Item.objects.create(**facts, supplier=supplier)


@action(roles=ENGINEERS)
def change_item(
    *,
    by: Person,
    item: Item,
    version: int,
    name: str,
    kind: str,
    unit: str,
    blank_in: int | None = None,
    minimum: int = 0,
    shelf_days: int | None = None,
    warn_days: int = 30,
    supplier: Supplier | None = None,
    note: str = "",
    is_active: bool = True,
) -> Item:
    """Change what is kept of an item; new shelf days move the last day of its lots that carry no date of their own.

    Refuses another kind, unit or size once there are lots (they were counted in the old one), and giving up an item of
    which something is on hand. Raises Changed if somebody changed it since `version`.
    """
    fresh = still_as_read(item, version)
    facts = item_facts(
        name=name,
        kind=kind,
        unit=unit,
        blank_in=blank_in,
        minimum=minimum,
        shelf_days=shelf_days,
        warn_days=warn_days,
        note=note,
    )
    twice = "There is already an item of that name."
    not_taken(Item, str(facts["name"]), sentence=twice, but=fresh)
    if Lot.objects.filter(item=fresh).exists():
        for field in ("kind", "unit", "blank_in"):
            if facts[field] != getattr(fresh, field):
                raise Refused("Lots of it were received as it is. Add a new item instead.", field=field)
    if not is_active and Lot.objects.filter(item=fresh, on_hand__gt=0).exists():
        raise Refused("Some of it is still on hand. Use it up or count it out first.", field="is_active")
    moves_dates = facts["shelf_days"] != fresh.shelf_days
    for field, value in facts.items():
        setattr(fresh, field, value)
    fresh.supplier = supplier
    fresh.is_active = is_active
    fresh.version += 1
    with one_of_its_name(twice):
        fresh.save()
    if moves_dates:
        _date_lots_anew(fresh)
    return fresh


def item_facts(
    *,
    name: str,
    kind: str,
    unit: str,
    blank_in: int | None,
    minimum: int,
    shelf_days: int | None,
    warn_days: int,
    note: str,
) -> dict[str, object]:
    """What is kept of an item, checked, by the names of its fields; how it is ordered is in planning.plan_facts."""
    name = words(name, field="name", longest=80, needed=True)
    if kind not in ItemKind.values:
        raise Refused("Choose one of the kinds.", field="kind")
    if unit not in StockUnit.values:
        raise Refused("Choose one of the units.", field="unit")
    if kind == ItemKind.BLANK:
        if blank_in not in BlankSize.values:
            raise Refused("Choose the size of the blank.", field="blank_in")
        if unit != StockUnit.EACH:
            raise Refused("Blanks are counted by the piece: choose “each”.", field="unit")
    elif blank_in is not None:
        raise Refused("Only a blank has a blank size. Leave it empty.", field="blank_in")
    if shelf_days is not None:
        rules.whole(shelf_days, field="shelf_days", low=1, high=_LONGEST_DAYS)
    return {
        "name": name,
        "kind": kind,
        "unit": unit,
        "blank_in": blank_in,
        "minimum": rules.whole(minimum, field="minimum"),
        "shelf_days": shelf_days,
        "warn_days": rules.whole(warn_days, field="warn_days", high=_LONGEST_DAYS),
        "note": words(note, field="note", longest=300),
    }


def _date_lots_anew(item: Item) -> None:
    lots = list(Lot.objects.select_for_update().filter(item=item, best_before__isnull=True))
    for lot in lots:
        lot.last_day = last_day_of(
            best_before=None, made_on=lot.made_on, received_on=lot.received_on, shelf_days=item.shelf_days
        )
    Lot.objects.bulk_update(lots, ["last_day"], batch_size=500)


@action(roles=ENGINEERS)
def add_supplier(
    *,
    by: Person,
    name: str,
    lead_days: int | None = None,
    lead_note: str = "",
    contact: str = "",
    note: str = "",
) -> Supplier:
    """Enter a supplier. lead_days: the lead time it promises, None if it promises none; contact: where orders go."""
    facts = supplier_facts(name=name, lead_days=lead_days, lead_note=lead_note, contact=contact, note=note)
    twice = "There is already a supplier of that name."
    not_taken(Supplier, str(facts["name"]), sentence=twice)
    with one_of_its_name(twice):
        return Supplier.objects.create(**facts)


@action(roles=ENGINEERS)
def change_supplier(
    *,
    by: Person,
    supplier: Supplier,
    version: int,
    name: str,
    lead_days: int | None = None,
    lead_note: str = "",
    contact: str = "",
    note: str = "",
    is_active: bool = True,
) -> Supplier:
    """Change what is kept of a supplier. Raises Changed if somebody changed it since `version`."""
    fresh = still_as_read(supplier, version)
    facts = supplier_facts(name=name, lead_days=lead_days, lead_note=lead_note, contact=contact, note=note)
    twice = "There is already a supplier of that name."
    not_taken(Supplier, str(facts["name"]), sentence=twice, but=fresh)
    for field, value in facts.items():
        setattr(fresh, field, value)
    fresh.is_active = is_active
    fresh.version += 1
    with one_of_its_name(twice):
        fresh.save()
    return fresh


def supplier_facts(*, name: str, lead_days: int | None, lead_note: str, contact: str, note: str) -> dict[str, object]:
    """What is kept of a supplier, checked, by the names of its fields."""
    if lead_days is not None:
        rules.whole(lead_days, field="lead_days", high=3653)
    return {
        "name": words(name, field="name", longest=80, needed=True),
        "lead_days": lead_days,
        "lead_note": words(lead_note, field="lead_note", longest=200),
        "contact": words(contact, field="contact", longest=200),
        "note": words(note, field="note", longest=300),
    }


@action(roles=ENGINEERS)
def add_defect(*, by: Person, name: str, blames_lot: bool = True) -> Defect:
    """Add to the list of what can be wrong with a blank or another item, and whether it speaks against the lot."""
    name = words(name, field="name", longest=60, needed=True)
    twice = "That defect is on the list already."
    not_taken(Defect, name, sentence=twice)
    with one_of_its_name(twice):
        return Defect.objects.create(name=name, blames_lot=blames_lot)


@action(roles=ENGINEERS)
def change_defect(
    *, by: Person, defect: Defect, version: int, name: str, blames_lot: bool = True, is_active: bool = True
) -> Defect:
    """Reword a defect, say whether it speaks against the lot, also for what was spoiled so far, or take it off the list
    that is offered. Raises Changed if it was changed since `version`."""
    fresh = still_as_read(defect, version)
    name = words(name, field="name", longest=60, needed=True)
    twice = "That defect is on the list already."
    fresh.name = not_taken(Defect, name, sentence=twice, but=fresh)
    blamed = fresh.blames_lot
    fresh.blames_lot, fresh.is_active = blames_lot, is_active
    fresh.version += 1
    with one_of_its_name(twice):
        fresh.save()
    if fresh.blames_lot != blamed:
        quality.look_at_all_again()
    return fresh
