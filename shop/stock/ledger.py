"""The stock ledger's own arithmetic: inner functions, called inside an action's transaction, never on their own.

Each line of the ledger is written together with its lot's on hand. The change is one conditional UPDATE that says what
must be true (enough is there) and whose row count decides: right on SQLite and on PostgreSQL, however many people
press at once. From then until the transaction ends the lot's row is ours, so the balance read after it is that of the
new line.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F

from shop import bulk, clock
from shop.people.models import Person
from shop.press.rules import words
from shop.refusal import NotEnough, Refused
from shop.stock import arrivals, quality, rules
from shop.stock.amounts import in_words, is_or_are
from shop.stock.models import USE, Defect, Lot, Movement, MovementKind, WeekUse


@dataclass(frozen=True)
class Owner:
    """A record that a movement belongs to, and that alone may undo it. label: "side 812"; link: path of its page."""

    label: str
    link: str


#: Given the ids of movements, the owners of those among them that have one. Asked once for a whole page of the ledger.
OwnerQuestion = Callable[[Collection[int]], Mapping[int, Owner]]

_owner_questions: list[OwnerQuestion] = []


def register_owner(question: OwnerQuestion) -> None:
    """Let `question(movement_ids)` say which movements belong to a record elsewhere: those are undone there."""
    if question not in _owner_questions:
        _owner_questions.append(question)


def owners(movement_ids: Collection[int]) -> dict[int, Owner]:
    """The owner of each of these movements that has one, by movement id."""
    found: dict[int, Owner] = {}
    if movement_ids:
        for question in _owner_questions:
            found.update(question(movement_ids))
    return found


def move(
    *,
    lot: Lot,
    kind: MovementKind,
    change: int,
    at: datetime,
    by: Person,
    defect: Defect | None = None,
    reverses: Movement | None = None,
    note: str = "",
) -> Movement:
    """Add a line to the ledger and `change` (in the item's unit) to the lot's on hand, and to `lot` in memory.

    What counts as use is added to what was taken of it and to its week, and its fellows are compared anew.
    Raises NotEnough, with nothing written, if that would leave less than none.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("move is called inside an action's transaction")
    enough = Lot.objects.filter(pk=lot.pk, on_hand__gte=-change)
    taken = -change if kind in USE or (reverses is not None and reverses.kind in USE) else 0
    if not enough.update(on_hand=F("on_hand") + change, taken=F("taken") + taken):
        there = Lot.objects.values_list("on_hand", flat=True).get(pk=lot.pk)
        raise NotEnough(_too_few(lot, there=there, wanted=-change, by=by), field="quantity")
    lot.on_hand, lot.taken = Lot.objects.values_list("on_hand", "taken").get(pk=lot.pk)
    if kind in USE:
        _add_to_week(lot, at=at, quantity=-change)
    elif reverses is not None and reverses.kind in USE:
        _take_from_week(lot, at=reverses.at, quantity=change)
    movement = Movement.objects.create(
        lot=lot,
        item_id=lot.item_id,
        kind=kind,
        change=change,
        balance=lot.on_hand,
        at=at,
        recorded_at=clock.now(),
        by=by,
        defect=defect,
        reverses=reverses,
        note=note,
    )
    if taken:
        quality.after_taking(lot.item, found_faulty=MovementKind.SPOILED in (kind, reverses and reverses.kind))
    return movement


def receive_new(new: Sequence[tuple[Lot, int]], *, at: datetime, by: Person, note: str) -> None:
    """Write lots that are not kept yet, each with the first line of its ledger: so much of it received.

    As `move` would, but for many at a time: nobody else can know of a new lot. The database refuses, with an
    IntegrityError and nothing written, a code that another lot of the item and supplier has.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("receive_new is called inside an action's transaction")
    now = clock.now()
    for (lot, quantity), key in zip(new, bulk.reserve_keys(Lot, len(new)), strict=True):
        lot.pk, lot.on_hand = key, quantity
    bulk.insert([lot for lot, _ in new])
    lines = [
        Movement(
            lot=lot,
            item_id=lot.item_id,
            kind=MovementKind.RECEIVED,
            change=quantity,
            balance=quantity,
            at=at,
            recorded_at=now,
            by=by,
            note=note,
        )
        for lot, quantity in new
    ]
    bulk.insert(lines)


def _add_to_week(lot: Lot, *, at: datetime, quantity: int) -> None:
    """Add to what was used in the week of `at`."""
    week = {"item_id": lot.item_id, "monday": clock.monday_of(at)}
    own = WeekUse.objects.filter(**week)
    if not own.update(quantity=F("quantity") + quantity):
        WeekUse.objects.get_or_create(**week, defaults={"quantity": 0})  # another may have begun the week just now
        own.update(quantity=F("quantity") + quantity)


def _take_from_week(lot: Lot, *, at: datetime, quantity: int) -> None:
    """Take off what was undone in the week of `at`.

    The room's zone may have changed since it was written down: then it stands in the week before or after.
    """
    monday = clock.monday_of(at)
    for day in (monday, monday - timedelta(days=7), monday + timedelta(days=7)):
        own = WeekUse.objects.filter(item=lot.item_id, monday=day, quantity__gte=quantity)
        if own.update(quantity=F("quantity") - quantity):
            return
    raise RuntimeError(f"the weeks of item {lot.item_id} do not hold what is undone in that of {monday}")


def _too_few(lot: Lot, *, there: int, wanted: int, by: Person) -> str:
    verb = is_or_are(there, lot.item)
    if there == 0:
        return f"There {verb} none left in lot {lot.code}: somebody may have taken the last just now. Take another lot."
    left, asked = in_words(there, lot.item, by), in_words(wanted, lot.item, by)
    return f"There {verb} only {left} left in lot {lot.code}, not {asked}. Take less, or another lot."


#: What is put to use, and so must be neither on hold nor past its date. What is spoiled, sent back or counted may be.
_PUT_TO_USE = frozenset({MovementKind.USED, MovementKind.TESTED})


def take(
    *,
    lot: Lot,
    kind: MovementKind,
    quantity: int,
    by: Person,
    at: datetime | None = None,
    overrule: str = "",
    defect: Defect | None = None,
    note: str = "",
) -> Movement:
    """Take `quantity` (1 or more, in the item's unit) out of a lot, by all the rules.

    at: when it was taken, None for now. overrule: an engineer's reason to use a lot on hold or past its date on that
    day; it stays in the movement's note. Raises Refused for a time to come or before the lot came in, for a lot that is
    not fit to use, and NotEnough for more than is there.
    """
    lot = rules.locked(lot)
    rules.whole(quantity, field="quantity", low=1)
    moment = rules.happened_at(at, lot)
    said = words(note, field="note", longest=300)
    if kind in _PUT_TO_USE:
        reason = words(overrule, field="overrule", longest=180)
        if reason := rules.fit_to_use(lot, day=clock.day_of(moment), by=by, overrule=reason):
            said = f"Overruled: {reason}. {said}".strip()
    return move(lot=lot, kind=kind, change=-quantity, at=moment, by=by, defect=defect, note=said)


def reverse(*, movement: Movement, at: datetime, by: Person, note: str = "") -> Movement:
    """Undo a whole movement, once, by a line that names it.

    Refuses a reversal of a reversal, a second one, one of a count that changed nothing, and one that would leave less
    than none in the lot. What came on an order is taken off it again. Doesn't ask whether the movement belongs to
    another record: that is its caller's to know.
    """
    if movement.kind == MovementKind.REVERSED:
        raise Refused("That line already undoes another. Enter what happened as a new movement instead.")
    if movement.change == 0:
        raise Refused("That count changed nothing, so there is nothing to undo.")
    if movement.kind == MovementKind.RECEIVED:
        arrivals.lock_order_of(movement.lot_id)
    lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=movement.lot_id)
    if Movement.objects.filter(reverses=movement).exists():
        raise Refused("That movement was undone already.")
    if lot.on_hand < movement.change:
        change, left = (in_words(value, lot.item, by) for value in (movement.change, lot.on_hand))
        raise NotEnough(
            f"Undoing it would take {change} out of lot {lot.code}, where only {left} "
            f"{is_or_are(lot.on_hand, lot.item)} left. Undo what was taken from it first."
        )
    undone = move(
        lot=lot,
        kind=MovementKind.REVERSED,
        change=-movement.change,
        at=at,
        by=by,
        reverses=movement,
        note=note,
    )
    if movement.kind == MovementKind.RECEIVED and lot.order_line_id is not None:
        arrivals.take_back(lot=lot, quantity=movement.change, by=by)
    return undone
