"""What is known of a lot, apart from how much is left of it."""

from datetime import date
from decimal import Decimal
from typing import Any

from shop import clock
from shop.people.authority import needs
from shop.people.models import ENGINEERS, HANDS, Person
from shop.people.queries import the_room
from shop.press.action import action
from shop.press.rules import one_of_its_name, still_as_read, words
from shop.refusal import Refused
from shop.stock import rules
from shop.stock.amounts import COST_PLACES, price_in_words
from shop.stock.models import Item, Lot, Remark, RemarkKind, last_day_of
from shop.wording import in_full


@action(roles=ENGINEERS)
def hold_lot(*, by: Person, lot: Lot, why: str) -> Lot:
    """Put a lot on hold, with the reason: it no longer counts as free; only an engineer's overruling takes from it."""
    lot = rules.locked(lot)
    if lot.is_held:
        raise Refused(f"Lot {lot.code} is on hold already: {lot.held_why}.")
    return put_on_hold(lot, why=words(why, field="why", longest=300, needed=True), by=by)


def put_on_hold(lot: Lot, *, why: str, by: Person) -> Lot:
    """Inner part of holding a lot that is locked and not on hold."""
    lot.held_at, lot.held_by, lot.held_why = clock.now(), by, why
    lot.save(update_fields=["held_at", "held_by", "held_why"])
    Remark.objects.create(lot=lot, kind=RemarkKind.HELD, at=lot.held_at, by=by, note=why)
    return lot


@action(roles=HANDS)
@needs("release-lot", otherwise=ENGINEERS)
def release_lot(*, by: Person, lot: Lot, note: str) -> Lot:
    """Let a lot on hold be used again. note: what was found, which is kept."""
    lot = rules.locked(lot)
    if not lot.is_held:
        raise Refused(f"Lot {lot.code} is not on hold.")
    return let_go(lot, note=words(note, field="note", longest=300, needed=True), by=by)


def let_go(lot: Lot, *, note: str, by: Person) -> Lot:
    """Inner part of releasing a lot that is locked and on hold."""
    lot.held_at, lot.held_by, lot.held_why = None, None, ""
    lot.save(update_fields=["held_at", "held_by", "held_why"])
    Remark.objects.create(lot=lot, kind=RemarkKind.RELEASED, at=clock.now(), by=by, note=note)
    return lot


@action(roles=ENGINEERS)
def correct_lot(
    *,
    by: Person,
    lot: Lot,
    version: int,
    code: str,
    why: str,
    made_on: date | None = None,
    best_before: date | None = None,
    unit_cost: Decimal | None = None,
    note: str = "",
) -> Lot:
    """Put right what was mistyped about a lot; what was changed, from what to what and why, stays as a remark.

    Raises Changed if somebody changed the lot since `version`.
    """
    fresh = still_as_read(lot, version)
    item = Item.objects.get(pk=fresh.item_id)
    code = words(code, field="code", longest=60, needed=True)
    why = words(why, field="why", longest=200, needed=True)
    rules.dates_agree(made_on=made_on, best_before=best_before, received_on=fresh.received_on)
    others = Lot.objects.filter(item=item, supplier=fresh.supplier_id, code__iexact=code).exclude(pk=fresh.pk)
    if others.exists():
        raise Refused("Another lot of this item from that supplier has that code.", field="code")
    facts = {
        "code": code,
        "made_on": made_on,
        "best_before": best_before,
        "unit_cost": rules.cost(unit_cost, places=COST_PLACES),
        "note": words(note, field="note", longest=300),
    }
    before = {name: getattr(fresh, name) for name in facts}
    changed = [name for name, value in facts.items() if value != before[name]]
    if not changed:
        raise Refused("Nothing differs from what is kept already.")
    for name in changed:
        setattr(fresh, name, facts[name])
    fresh.last_day = last_day_of(
        best_before=best_before, made_on=made_on, received_on=fresh.received_on, shelf_days=item.shelf_days
    )
    fresh.version += 1
    with one_of_its_name("Another lot has that code.", field="code"):
        fresh.save(update_fields=[*changed, "last_day", "version"])
    told = {name: _told(name, before[name], facts[name]) for name in changed}
    if "unit_cost" in told:
        told["unit_cost"] = _told("unit_cost", *(_price(one["unit_cost"], item) for one in (before, facts)))
    money = told.pop("unit_cost", "")
    note = "; ".join([*told.values(), *(["price"] if money else [])])
    Remark.objects.create(
        lot=fresh, kind=RemarkKind.CORRECTED, at=clock.now(), by=by, note=f"{note}. {why}", money=money
    )
    return fresh


_CALLED = {
    "code": "code",
    "made_on": "made on",
    "best_before": "best before",
    "unit_cost": "price",
    "note": "note",
}


def _price(kept: Any, item: Item) -> str | None:
    """As the room gives prices."""
    room = the_room()
    return None if kept is None else price_in_words(kept, item, room.currency, room)


def _told(name: str, was: object, is_now: object) -> str:
    """One change in words: "best before 3 March 2025 → 3 April 2025"."""
    said = ("none" if v in (None, "") else in_full(v) if isinstance(v, date) else str(v) for v in (was, is_now))
    return f"{_CALLED[name]} {' → '.join(said)}"
