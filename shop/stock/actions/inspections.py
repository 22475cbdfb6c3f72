"""Looking a delivery over: some of it, and what that says of all of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop import clock
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import words
from shop.refusal import Refused
from shop.stock import ledger, quality, rules
from shop.stock.actions.lots import let_go, put_on_hold
from shop.stock.amounts import in_words
from shop.stock.models import Defect, Inspection, InspectionDefect, Lot, Movement, MovementKind, Outcome


@dataclass(frozen=True)
class Found:
    """So many, in the item's unit, of those looked at had this defect."""

    defect: Defect
    quantity: int


@action(roles=HANDS)
def inspect_lot(
    *,
    by: Person,
    lot: Lot,
    looked_at: int,
    outcome: str,
    found: Sequence[Found] = (),
    write_off: bool | None = None,
    note: str = "",
) -> Inspection:
    """Enter a look over some of a lot, and what comes of it.

    found: how many had which defect, each faulty one once. Accept lets the lot be used, and if it was on hold releases
    it, which takes an engineer. Hold puts it on hold; return sends back all that is on hand. write_off: take the faulty
    ones out as spoiled, which a return never does; None for so if the lot is accepted, and not if it is put on hold.
    Refuses more looked at than is on hand, more faulty than looked at, and a hold or a return without a fault or a note
    to say why.
    """
    lot = rules.locked(lot)
    looked_at = rules.whole(looked_at, field="looked_at", low=1)
    if looked_at > lot.on_hand:
        left = in_words(lot.on_hand, lot.item, by)
        raise Refused(f"Only {left} is on hand in lot {lot.code}.", field="looked_at")
    if outcome not in Outcome.values:
        raise Refused("Choose what comes of it.", field="outcome")
    note = words(note, field="note", longest=300)
    faults = _checked(found, looked_at, lot, by)
    why = note or _summed_up(faults, looked_at, lot, by)
    if outcome != Outcome.ACCEPT and not why:
        raise Refused("Nothing was found faulty: say why it is not accepted.", field="note")
    if outcome == Outcome.ACCEPT and lot.is_held and not by.is_engineer:
        raise Refused(
            f"Lot {lot.code} is on hold, and only an engineer may let it be used again. Choose hold, and say what you "
            "found.",
            field="outcome",
        )
    inspection = Inspection.objects.create(
        lot=lot, looked_at=looked_at, outcome=outcome, at=clock.now(), by=by, note=note
    )
    takes_out = (outcome == Outcome.ACCEPT if write_off is None else write_off) and outcome != Outcome.RETURN
    for fault in faults:
        movement = _written_off(fault, lot, by) if takes_out else None
        InspectionDefect.objects.create(
            inspection=inspection, defect=fault.defect, quantity=fault.quantity, movement=movement
        )
    if outcome == Outcome.ACCEPT and lot.is_held:
        let_go(lot, note=note or "looked over and accepted", by=by)
    if outcome == Outcome.HOLD and not lot.is_held:
        put_on_hold(lot, why=why, by=by)
    if outcome == Outcome.RETURN:
        ledger.move(lot=lot, kind=MovementKind.RETURNED, change=-lot.on_hand, at=inspection.at, by=by, note=why)
    quality.look_again(lot.item)
    return inspection


def _checked(found: Sequence[Found], looked_at: int, lot: Lot, by: Person) -> list[Found]:
    """The faults that were found, each kind once. What is wrong with one is said of its defect: "found.7"."""
    faults: list[Found] = []
    for one in found:
        quantity = rules.whole(one.quantity, field=f"found.{one.defect.pk}")
        if any(one.defect.pk == other.defect.pk for other in faults):
            raise Refused(f"{one.defect.name} is there twice.", field=f"found.{one.defect.pk}")
        if quantity:
            faults.append(Found(one.defect, quantity))
    faulty = sum(fault.quantity for fault in faults)
    if faulty > looked_at:
        many, few = in_words(faulty, lot.item, by), in_words(looked_at, lot.item, by)
        raise Refused(
            f"That makes {many} faulty of {few} looked at. Count each under the worst of its defects.",
            field=f"found.{faults[-1].defect.pk}",
        )
    return faults


def _summed_up(faults: Sequence[Found], looked_at: int, lot: Lot, by: Person) -> str:
    """ "3 of 10 looked at were faulty: pinholes 2, warped 1"; empty where none was."""
    if not faults:
        return ""
    said = ", ".join(f"{fault.defect.name.lower()} {in_words(fault.quantity, lot.item, by)}" for fault in faults)
    faulty = in_words(sum(fault.quantity for fault in faults), lot.item, by)
    return f"{faulty} of {in_words(looked_at, lot.item, by)} looked at faulty: {said}"[:300]


def _written_off(fault: Found, lot: Lot, by: Person) -> Movement:
    return ledger.move(
        lot=lot,
        kind=MovementKind.SPOILED,
        change=-fault.quantity,
        at=clock.now(),
        by=by,
        defect=fault.defect,
        note="found when it was looked over",
    )
