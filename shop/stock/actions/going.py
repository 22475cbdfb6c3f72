# ruff: noqa: PT028 (`test_stock` is an action, not a test)
"""What is taken out, counted, or put right."""

from collections.abc import Collection
from datetime import datetime, timedelta

from django.utils import timezone

from shop import clock
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import words
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.stock import ledger, rules
from shop.stock.amounts import in_words
from shop.stock.models import Defect, Lot, Movement, MovementKind

#: As long as an undo stands at hand, taking the very same again is asked about: a page shown from history, pressed once
#: more, would take it twice.
SAME_AGAIN = timedelta(minutes=10)


@action(roles=HANDS)
def use_stock(
    *,
    by: Person,
    lot: Lot,
    quantity: int,
    at: datetime | None = None,
    note: str = "",
    overrule: str = "",
    sure: Collection[str] = (),
) -> Movement:
    """Take `quantity` (in the item's unit) out of a lot for use.

    As `ledger.take`: a lot on hold or past its date is refused unless an engineer gives a reason in `overrule`. Then
    asks if another lot of the item should go first, and if the same person took the very same just now.
    """
    fresh = rules.locked(lot)
    # Seen before it is taken, for the last of a lot is in its turn too. Taken before it is asked, for what can't be
    # taken is refused; nothing stays if the answer is no.
    turn = rules.out_of_turn(fresh, day=clock.day_of(rules.happened_at(at, fresh)), by=by)
    taken = ledger.take(
        lot=fresh, kind=MovementKind.USED, quantity=quantity, by=by, at=at, overrule=overrule, note=note
    )
    ask_unless_sure([*turn, *_again(taken)], sure)
    return taken


@action(roles=HANDS)
def test_stock(
    *,
    by: Person,
    lot: Lot,
    quantity: int,
    at: datetime | None = None,
    note: str = "",
    overrule: str = "",
    sure: Collection[str] = (),
) -> Movement:
    """Take `quantity` out of a lot for a test: by the rules of `use_stock`, but from whichever lot is in question."""
    taken = ledger.take(
        lot=lot, kind=MovementKind.TESTED, quantity=quantity, by=by, at=at, overrule=overrule, note=note
    )
    ask_unless_sure(_again(taken), sure)
    return taken


@action(roles=HANDS)
def spoil_stock(
    *,
    by: Person,
    lot: Lot,
    quantity: int,
    defect: Defect,
    at: datetime | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Movement:
    """Take `quantity` out of a lot that can't be used, and say what was wrong. A held lot may be spoiled too."""
    taken = ledger.take(lot=lot, kind=MovementKind.SPOILED, quantity=quantity, by=by, at=at, defect=defect, note=note)
    ask_unless_sure(_again(taken), sure)
    return taken


@action(roles=HANDS)
def return_stock(
    *, by: Person, lot: Lot, quantity: int, at: datetime | None = None, note: str = "", sure: Collection[str] = ()
) -> Movement:
    """Send `quantity` of a lot back to its supplier. A held lot may be sent back too."""
    taken = ledger.take(lot=lot, kind=MovementKind.RETURNED, quantity=quantity, by=by, at=at, note=note)
    ask_unless_sure(_again(taken), sure)
    return taken


def _again(taken: Movement) -> list[Doubt]:
    """A doubt if the same person took the very same out of the same lot just before, and it was not undone."""
    same = Movement.objects.filter(
        lot=taken.lot_id,
        by=taken.by_id,
        kind=taken.kind,
        change=taken.change,
        defect=taken.defect_id,
        note=taken.note,
        at__range=(taken.at - SAME_AGAIN, taken.at + SAME_AGAIN),
        recorded_at__gte=taken.recorded_at - SAME_AGAIN,
        reversed_by__isnull=True,
    )
    before = same.exclude(pk=taken.pk).order_by("-id").first()
    if before is None:
        return []
    much = in_words(-taken.change, taken.item, taken.by)
    when = f"{timezone.localtime(before.at):%H:%M}"
    sentence = f"You took {much} out of lot {taken.lot.code} at {when} already. Is this another?"
    return [Doubt(key=f"again:{before.pk}", field="quantity", sentence=sentence)]


@action(roles=HANDS)
def count_lot(
    *,
    by: Person,
    lot: Lot,
    counted: int,
    reason: str = "",
    expected: int | None = None,
    sure: Collection[str] = (),
) -> Movement:
    """Enter what is really there: one counted movement with the difference, 0 if the ledger was right.

    A count that agrees is a record too: it says who looked and when. A difference needs a `reason`. expected: the on
    hand when the counting began; if it moved since, the person is asked whether the count still holds.
    """
    lot = rules.locked(lot)
    counted = rules.whole(counted, field="counted")
    reason = words(reason, field="reason", longest=300)
    if expected is not None and expected != lot.on_hand:
        was, now = (in_words(value, lot.item, by) for value in (expected, lot.on_hand))
        moved = f"While you counted, the ledger went from {was} to {now}. Is that still what is on the shelf?"
        ask_unless_sure([Doubt(f"moved-to:{lot.on_hand}", "counted", moved)], sure)
    difference = counted - lot.on_hand
    if difference and not reason:
        kept = in_words(lot.on_hand, lot.item, by)
        raise Refused(f"The ledger says {kept}. Say why it differs, as far as you know.", field="reason")
    return ledger.move(lot=lot, kind=MovementKind.COUNTED, change=difference, at=clock.now(), by=by, note=reason)


@action(roles=HANDS)
def reverse_movement(*, by: Person, movement: Movement, note: str = "") -> Movement:
    """Undo a movement as a whole by a new line that names it; the old line stays.

    Refuses what `ledger.reverse` refuses, and a movement that belongs to another record (a side): that is undone there.
    """
    note = words(note, field="note", longest=300)
    if owner := ledger.owners([movement.pk]).get(movement.pk):
        raise Refused(f"That movement belongs to {owner.label}. Undo it there, so that all that hangs on it goes too.")
    return ledger.reverse(movement=movement, at=clock.now(), by=by, note=note)
