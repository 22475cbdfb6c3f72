"""What the actions of stock check before they write. Each gives back the value to use, or raises Refused."""

from datetime import date, datetime
from decimal import Decimal

from django.db.models import IntegerField, QuerySet

from shop import clock
from shop.people.models import Person
from shop.prepared import Given, prepared
from shop.press import rules as press_rules
from shop.refusal import Doubt, Refused
from shop.stock import queries
from shop.stock.amounts import MOST, in_words
from shop.stock.models import Lot, Movement, MovementKind
from shop.wording import grouped, in_full


def whole(value: int, *, field: str, low: int = 0, high: int = MOST) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise Refused("Give a whole number.", field=field)
    if value < low:
        raise Refused("Give a number above zero." if low == 1 else f"Give {grouped(low)} or more.", field=field)
    if value > high:
        raise Refused(f"That is more than {grouped(high)}: look at the number and its unit again.", field=field)
    return value


def happened_at(at: datetime | None, lot: Lot) -> datetime:
    """When it happened: now unless said; not in the future, not before the lot came in."""
    moment = press_rules.happened_at(at)
    if at is not None and clock.day_of(moment) < lot.received_on:
        raise Refused(f"Lot {lot.code} only came in on {in_full(lot.received_on)}.", field="at")
    return moment


def came_at(received_on: date) -> datetime:
    """The moment for the ledger of what came in on a day: now if that is today, else when that day began."""
    return clock.now() if received_on == clock.today() else clock.day_bounds(received_on)[0]


def is_day_only(movement: Movement) -> bool:
    """Whether of the moment of a movement only the day is known: it came in on a day before it was entered."""
    begins = clock.day_bounds(clock.day_of(movement.at))[0]
    return movement.kind == MovementKind.RECEIVED and movement.at == begins and movement.recorded_at != begins


def dates_agree(*, made_on: date | None, best_before: date | None, received_on: date) -> None:
    """Refuse a lot made after it came in, or best before a day earlier than it was made."""
    if made_on is not None:
        press_rules.not_after_today(made_on, field="made_on")
        if made_on > received_on:
            raise Refused(
                f"It came in on {in_full(received_on)}, so it was made on that day or before.", field="made_on"
            )
    if best_before is not None:
        if best_before.year < 1970:
            raise Refused("That is before 1970: look at the year again.", field="best_before")
        if made_on is not None and best_before < made_on:
            raise Refused(f"That is before it was made, on {in_full(made_on)}.", field="best_before")


def cost(amount: Decimal | None, *, field: str = "unit_cost", places: int = 4) -> Decimal | None:
    """A cost in the room's currency, to so many places; not below zero, below a million."""
    if amount is None:
        return None
    if not amount.is_finite() or not 0 <= amount < 1_000_000:
        raise Refused("Give a cost below a million, not below zero.", field=field)
    return amount.quantize(Decimal(1).scaleb(-places))


def locked(lot: Lot) -> Lot:
    """The lot as it now stands, its row ours until the transaction ends (SQLite's IMMEDIATE has locked already)."""
    return _locked.get(lot=lot.pk)


@prepared
def _locked() -> QuerySet[Lot]:
    rows = Lot.objects.select_for_update(of=("self",)).select_related("item", "supplier")
    return rows.filter(pk=Given("lot", IntegerField()))


def unfit_words(lot: Lot, *, day: date) -> str:
    """Why the lot is not to be used on `day`, in a sentence: on hold, or past its date; "" if it is fit.

    A lot is usable through the last day of its date, in the room's zone, and past it from the day after.
    """
    if lot.is_held:
        return f"Lot {lot.code} is on hold: {lot.held_why or 'no reason was given'}."
    if lot.is_past_date(day):
        assert lot.last_day is not None
        return f"Lot {lot.code} was usable through {in_full(lot.last_day)}."
    return ""


def fit_to_use(lot: Lot, *, day: date, by: Person, overrule: str) -> str:
    """Refuse a lot that is not fit on `day` (see unfit_words); an engineer may overrule with a reason, given back."""
    trouble = unfit_words(lot, day=day)
    if not trouble:
        return ""
    if not by.is_engineer:
        raise Refused(f"{trouble} Take another lot: only an engineer may overrule that.", field="lot")
    if not overrule:
        raise Refused(f"{trouble} Take another lot, or give a reason to overrule it.", field="overrule")
    return overrule


def out_of_turn(lot: Lot, *, day: date, by: Person) -> list[Doubt]:
    """A doubt if another lot of the item expires first and so should be used first.

    None about a lot that is on hold or past its date: that one has no turn, and to overrule it says enough.
    """
    if lot.is_held or lot.is_past_date(day):
        return []
    first = queries.first_lot(day=day, item=lot.item)
    if first is None or first.pk == lot.pk:
        return []
    until = f"usable through {in_full(first.last_day)}" if first.last_day else "received earlier"
    return [
        Doubt(
            key=f"out-of-turn:{first.pk}",
            field="quantity",
            sentence=(
                f"Lot {first.code} should go first ({until}; {in_words(first.on_hand, lot.item, by)} on hand). "
                f"Take from {lot.code} all the same?"
            ),
        )
    ]
