"""Counting the shelf blind: start, enter what was counted, give it in, say why it differs, agree."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from shop import clock
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.stock import ledger, queries, rules
from shop.stock.models import (
    Count,
    CountLine,
    CountState,
    CountStep,
    CountStepKind,
    Item,
    ItemKind,
    Lot,
    MovementKind,
    Settled,
    Tally,
)
from shop.wording import grouped

#: The most lots one count covers.
MOST_LINES = 1000


@dataclass(frozen=True)
class Counted:
    """So much of a line's lot was found, in the item's unit."""

    line: CountLine
    quantity: int


@dataclass(frozen=True)
class Explained:
    """Why what was found of a line's lot differs from the ledger."""

    line: CountLine
    reason: str


@action(roles=HANDS)
def start_count(
    *,
    by: Person,
    which: str = "all",
    kind: str = "",
    items: Collection[Item] = (),
    sure: Collection[str] = (),
) -> Count:
    """Begin a count of the lots that have something in them: all, those of a kind, or those of some items.

    which: "all", "kind" or "items". Refuses a count of nothing, and one of more than MOST_LINES lots. Asks if another
    count that is not settled covers some of them.
    """
    lots, about = _covered(which, kind, items)
    found = list(lots[: MOST_LINES + 1])
    field = which if which in ("kind", "items") else "which"
    if not found:
        raise Refused("By the ledger there is none of that. Enter what you find as a delivery.", field=field)
    if len(found) > MOST_LINES:
        raise Refused(f"Those are more than {grouped(MOST_LINES)} lots. Count one kind at a time.", field=field)
    ask_unless_sure(_counted_elsewhere(lots), sure)
    count = Count.objects.create(about=about, started_at=clock.now(), started_by=by)
    CountLine.objects.bulk_create([CountLine(count=count, lot=lot) for lot in found])
    _step(count, CountStepKind.STARTED, by=by)
    return count


def _covered(which: str, kind: str, items: Collection[Item]) -> tuple[QuerySet[Lot], str]:
    """The lots that a count is to cover, and that in words."""
    lots = queries.lots_to_count()
    if which == "all":
        return lots, "Everything on hand"
    if which == "kind":
        if kind not in ItemKind.values:
            raise Refused("Choose one of the kinds.", field="kind")
        return lots.filter(item__kind=kind), _KINDS[ItemKind(kind)]
    if which != "items":
        raise Refused("Choose what is to be counted.", field="which")
    if not items:
        raise Refused("Tick the items to be counted.", field="items")
    names = ", ".join(sorted(item.name for item in items))
    about = names if len(names) <= 200 else f"{len(items)} items"
    return lots.filter(item__in=[item.pk for item in items]), about


_KINDS = {
    ItemKind.BLANK: "All blanks",
    ItemKind.STYLUS: "All styli",
    ItemKind.LIQUID: "All liquids",
    ItemKind.PART: "All parts and consumables",
}


def _counted_elsewhere(lots: QuerySet[Lot]) -> list[Doubt]:
    return [
        Doubt(
            key=f"also-in:{other.pk}",
            field="which",
            sentence=f"{other} ({other.about}), which is not settled, covers some of these lots. Begin another?",
        )
        for other in queries.open_counts_of(lots)
    ]


@action(roles=HANDS)
def enter_count(*, by: Person, count: Count, counted: Sequence[Counted], at: datetime | None = None) -> Count:
    """Enter what was found of some of a count's lots; the latest number of a lot is the one that counts.

    at: when it was counted, None for now. A lot counted again after the count was given in has to be explained again.
    Refuses a count that is settled, and a time to come or before the count began.
    """
    held = _locked(count, CountState.OPEN, CountState.GIVEN)
    if not counted:
        raise Refused("Enter at least one number; 0 where there is none.")
    moment = happened_at(at)
    if at is not None and moment.replace(second=0, microsecond=0) < held.started_at.replace(second=0, microsecond=0):
        raise Refused("That is before the count began.", field="at")
    own = {line.pk: line for line in queries.lines(held).filter(pk__in=[one.line.pk for one in counted])}
    if len(own) != len(counted):
        raise Refused("A lot in that form is not in this count. Open the page again.")
    quantities = {one.line.pk: rules.whole(one.quantity, field=f"line-{one.line.pk}") for one in counted}
    last = queries.last_movements([line.lot for line in own.values()], until=moment if at is not None else None)
    now = clock.now()
    for line in own.values():
        Tally.objects.create(
            line=line, counted=quantities[line.pk], at=moment, recorded_at=now, by=by, after_id=last.get(line.lot_id)
        )
    CountLine.objects.filter(pk__in=own).exclude(reason="").update(reason="")
    return held


@action(roles=HANDS)
def add_to_count(*, by: Person, count: Count, code: str, item: Item | None = None) -> CountLine:
    """Take a lot into a count that was found on the shelf and is not in it, by its code: one that is used up by the
    ledger, or that came in meanwhile. item: of which, where lots of several have that code.

    Refuses a code that no lot has, and says how to receive it.
    """
    held = _locked(count, CountState.OPEN, CountState.GIVEN)
    code = words(code, field="code", longest=60, needed=True)
    lots = Lot.objects.filter(code__iexact=code).select_related("item")
    if item is not None:
        lots = lots.filter(item=item)
    found = list(lots[:3])
    if not found:
        raise Refused(
            "No lot has that code. If it came and was never entered, open its item and receive it as a delivery, with "
            "the number you found; it is then right and need not be counted.",
            field="code",
        )
    if len(found) > 1:
        names = " and of ".join(lot.item.name for lot in found)
        raise Refused(f"There are lots of that code of {names}: say which item it is.", field="item")
    [lot] = found
    line, is_new = CountLine.objects.get_or_create(count=held, lot=lot)
    if not is_new:
        raise Refused(f"Lot {lot.code} is in this count already.", field="code")
    _step(held, CountStepKind.ADDED, by=by, note=f"{lot.item.name}, lot {lot.code}")
    return line


@action(roles=HANDS)
def give_in_count(*, by: Person, count: Count, sure: Collection[str] = ()) -> Count:
    """Say that the counting is over: from now on the differences are shown.

    Asks about lots that nobody counted: they are left as they are. Refuses a count in which nothing was counted.
    """
    held = _locked(count, CountState.OPEN)
    left = queries.uncounted(held).count()
    if left == held.lines.count():
        raise Refused("Nothing was counted yet.")
    if left:
        said = "One lot was not counted; it is left as it is." if left == 1 else f"{left} lots were not counted; they"
        sentence = said if left == 1 else f"{said} are left as they are."
        ask_unless_sure([Doubt(key=f"left:{left}", field="", sentence=f"{sentence} Give it in all the same?")], sure)
    _move_on(held, CountState.GIVEN)
    _step(held, CountStepKind.GIVEN, by=by)
    return held


@action(roles=HANDS)
def explain_count(*, by: Person, count: Count, reasons: Sequence[Explained]) -> Count:
    """Say why lots differ from the ledger, as far as is known; one that is left empty can be explained later."""
    held = _locked(count, CountState.GIVEN)
    for one in reasons:
        reason = words(one.reason, field=f"line-{one.line.pk}", longest=300)
        if not held.lines.filter(pk=one.line.pk).update(reason=reason):
            raise Refused("A lot in that form is not in this count. Open the page again.")
    return held


@action(roles=ENGINEERS)
def agree_count(*, by: Person, count: Count, seen: str = "", sure: Collection[str] = ()) -> Count:
    """Agree to a count that was given in: one counted movement for each lot that was counted, also where the ledger was
    right. Each tells of the moment of counting and who counted; what was written since stays right.

    seen: what the differences were when the person looked (see `differences_of`); if they are others now, they have to
    look again. Refuses differences without a reason, and lots that were counted and put right elsewhere since.
    Asks who counted themselves, where somebody else could agree; either way the ledger's line says that it was one.
    """
    held = _locked(count, CountState.GIVEN)
    lots = Lot.objects.select_for_update().filter(pk__in=held.lines.values("lot")).order_by("pk")
    list(lots)  # ours until the transaction ends
    found = queries.compare(queries.lines(held))
    _may_be_agreed(found)
    if seen and seen != differences_of(found):
        raise Refused("Something was entered while you looked: the differences are others now. Look again, then press.")
    own = sum(one.tally.by_id == by.pk for one in found)
    if own and Person.objects.filter(role__in=ENGINEERS, is_active=True).exclude(pk=by.pk).exists():
        ask_unless_sure([_own_count(own)], sure)
    _move_on(held, CountState.AGREED)
    for one in found:
        lot, reason = one.line.lot, one.line.reason if one.change else ""
        agreed = f"counted and agreed by the same person, {by}" if one.tally.by_id == by.pk else f"agreed by {by}"
        movement = ledger.move(
            lot=lot,
            kind=MovementKind.COUNTED,
            change=one.change,
            at=one.tally.at,
            by=one.tally.by,
            note=f"{held}, {agreed}{f': {reason}' if reason else ''}"[:500],
        )
        Settled.objects.create(tally=one.tally, expected=one.expected, reason=reason, movement=movement)
    _step(held, CountStepKind.AGREED, by=by)
    return held


def _own_count(lots: int) -> Doubt:
    counted = "one of these lots" if lots == 1 else f"{lots} of these lots"
    sentence = (
        f"You counted {counted} yourself, and somebody else could agree. Agree all the same? It will say that the same "
        "person counted and agreed."
    )
    return Doubt(key="own-count", field="", sentence=sentence)


def _may_be_agreed(found: Sequence[queries.Compared]) -> None:
    overtaken = [one.line.lot.code for one in found if one.overtaken]
    if overtaken:
        raise Refused(f"Counted and put right elsewhere since: {_listed(overtaken)}. Count that again here first.")
    unexplained = [one.line.lot.code for one in found if not one.is_explained]
    if unexplained:
        raise Refused(f"Say first why it differs: {_listed(unexplained)}.")
    short = [one.line.lot.code for one in found if one.line.lot.on_hand + one.change < 0]
    if short:
        raise Refused(f"More was taken since than was counted: {_listed(short)}. Count that again first.")


def _listed(codes: Sequence[str]) -> str:
    """ "lot A, lot B and 3 more"."""
    named = ", ".join(f"lot {code}" for code in codes[:5])
    return named if len(codes) <= 5 else f"{named} and {len(codes) - 5} more"


def differences_of(found: Iterable[queries.Compared]) -> str:
    """What a count comes to, as the page of agreement sends it along."""
    return ",".join(f"{one.tally.pk}:{one.change}" for one in sorted(found, key=lambda one: one.tally.pk))


@action(roles=HANDS)
def drop_count(*, by: Person, count: Count, why: str = "") -> Count:
    """Give a count up: nothing comes of it. What was counted stays on record."""
    held = _locked(count, CountState.OPEN, CountState.GIVEN)
    note = words(why, field="why", longest=300)
    _move_on(held, CountState.DROPPED)
    _step(held, CountStepKind.DROPPED, by=by, note=note)
    return held


def _locked(count: Count, *states: CountState) -> Count:
    """The count as it now stands, its row ours until the transaction ends; refused if it is in none of the states."""
    held = Count.objects.select_for_update().get(pk=count.pk)
    if held.state not in states:
        raise Refused(f"{held} is {held.get_state_display().lower()}: that can't be done with it any more.")
    return held


def _move_on(count: Count, state: CountState) -> None:
    count.state = state
    count.save(update_fields=["state"])


def _step(count: Count, kind: CountStepKind, *, by: Person, note: str = "") -> None:
    CountStep.objects.create(count=count, kind=kind, at=clock.now(), by=by, note=note[:300])
