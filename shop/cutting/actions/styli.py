"""What people do with styli: enter one, fit it, take it off, retire it, put a retirement right."""

from datetime import date, datetime

from django.db.models import Max, QuerySet

from shop import clock
from shop.cutting import rules
from shop.cutting.models import EdgeLook, EndReason, Fitting, Lathe, Life, Side, Stylus, StylusKind
from shop.people.authority import needs
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, not_after_today, not_taken, one_of_its_name, words
from shop.refusal import Refused
from shop.stock import ledger
from shop.stock.models import ItemKind, Lot, MovementKind
from shop.stock.rules import fit_to_use
from shop.wording import in_full


@action(roles=HANDS)
def add_stylus(
    *,
    by: Person,
    mark: str,
    kind: StylusKind,
    received_on: date | None = None,
    lot: Lot | None = None,
    note: str = "",
) -> Stylus:
    """Enter a stylus by the mark on its box or shank.

    If it comes out of a stock lot, one is used from that lot in the same transaction: from then on it is known by its
    mark. Refuses a mark that is taken, a lot of something else, and one that is on hold or past its date.
    """
    sentence = "There is a stylus of that mark. Put something beside it to tell them apart."
    mark = not_taken(Stylus, words(mark, field="mark", longest=40, needed=True), field="mark", sentence=sentence)
    now = clock.now()
    stylus = Stylus(
        mark=mark,
        kind=kind,
        lot=lot,
        received_on=not_after_today(received_on or (lot.received_on if lot else clock.today()), field="received_on"),
        note=words(note, field="note", longest=300),
    )
    if lot is not None:
        if lot.item.kind != ItemKind.STYLUS:
            raise Refused(f"Lot {lot.code} is {lot.item}, not styli.", field="lot")
        fit_to_use(lot, day=clock.today(), by=by, overrule="")
        ledger.move(lot=lot, kind=MovementKind.USED, change=-1, at=now, by=by, note=f"stylus {mark}")
    with one_of_its_name(sentence, field="mark"):
        stylus.save()
    return stylus


@action(roles=HANDS)
@needs("fit-stylus")
def fit_stylus(*, by: Person, stylus: Stylus, lathe: Lathe, at: datetime | None = None, note: str = "") -> Fitting:
    """Put a stylus into a lathe's head; its life begins if none is open.

    Refuses a retired stylus, a lathe out of use, a head with another stylus in it (and says which), a stylus that is
    in a head already, and a time before it came in or before the head was last free.
    """
    at = happened_at(at)
    held = _locked(stylus)
    _not_retired(held)
    if not Lathe.objects.select_for_update().get(pk=lathe.pk).is_active:
        raise Refused(f"{lathe} is out of use.", field="lathe")
    open_now = Fitting.objects.filter(off_at__isnull=True).select_related("life__stylus", "lathe")
    if own := open_now.filter(life__stylus=held).first():
        raise Refused(f"{held} is in the head of {own.lathe} already.", field="lathe")
    if other := open_now.filter(lathe=lathe).first():
        raise Refused(f"{other.life.stylus} is in the head of {lathe}. Take that off first.", field="lathe")
    if clock.day_of(at) < held.received_on:
        raise Refused(f"{held} only came in on {in_full(held.received_on)}. Give a time since then.", field="at")
    _after_what_was(Fitting.objects.filter(lathe=lathe), at, f"{lathe} had another stylus in its head")
    _after_what_was(Fitting.objects.filter(life__stylus=held), at, f"{held} was in a head")
    life = held.lives.filter(ended_at__isnull=True).first()
    if life is None:
        last = held.lives.aggregate(last=Max("number"))["last"] or 0
        life = Life.objects.create(stylus=held, number=last + 1, began_at=at)
    return Fitting.objects.create(
        life=life, lathe=lathe, fitted_at=at, fitted_by=by, note=words(note, field="note", longest=300)
    )


@action(roles=HANDS)
def take_off_stylus(*, by: Person, stylus: Stylus, at: datetime | None = None, note: str = "") -> Fitting:
    """Take a stylus out of the head it is in; its life goes on. Refuses one that is in no head."""
    at = happened_at(at)
    held = _locked(stylus)
    fitting = _fitting_of(held)
    if fitting is None:
        raise Refused(f"{held} is not in a head: there is nothing to take off.")
    return _take_off(fitting, at=at, by=by, note=words(note, field="note", longest=300))


@action(roles=HANDS)
def look_over_stylus(*, by: Person, stylus: Stylus, seen: str) -> EdgeLook:
    """Say that the edge was looked over and is whole, and what was seen: it is then no longer in doubt.

    Refuses a retired stylus, and one that was never fitted.
    """
    held = _locked(stylus)
    _not_retired(held)
    life = held.lives.filter(ended_at__isnull=True).first()
    if life is None:
        raise Refused(f"{held} has not been in a head yet: nothing speaks against its edge.")
    seen = words(seen, field="seen", longest=300, needed=True)
    return EdgeLook.objects.create(life=life, at=clock.now(), by=by, seen=seen)


@action(roles=HANDS)
def retire_stylus(*, by: Person, stylus: Stylus, reason: str, at: datetime | None = None, note: str = "") -> Stylus:
    """Retire a stylus for good: out of its head if it is in one, its life ended for `reason` (an EndReason).

    Refuses one that was retired, and a time before its last side.
    """
    at = happened_at(at)
    note = words(note, field="note", longest=300)
    if reason not in EndReason.values:
        raise Refused("Choose why it is retired.", field="reason")
    held = _locked(stylus)
    _not_retired(held)
    if fitting := _fitting_of(held):
        _take_off(fitting, at=at, by=by, note="retired")
    if life := held.lives.select_for_update().filter(ended_at__isnull=True).first():
        _after_last_side(life, at)
        if at < life.began_at:
            raise Refused(f"Its life began at {rules.clock_words(life.began_at)}, after that.", field="at")
        life.ended_at, life.end_reason, life.end_note = at, reason, note
        life.save(update_fields=["ended_at", "end_reason", "end_note"])
    held.retired_at, held.retired_by, held.retired_why = at, by, reason
    held.save(update_fields=["retired_at", "retired_by", "retired_why"])
    return held


@action(roles=ENGINEERS)
def reinstate_stylus(*, by: Person, stylus: Stylus) -> Stylus:
    """Put a mistaken retirement right: the stylus is in the drawer again and the life that it ended goes on."""
    held = _locked(stylus)
    if held.retired_at is None:
        raise Refused(f"{held} is not retired.")
    held.lives.filter(ended_at=held.retired_at).update(ended_at=None, end_reason="", end_note="")
    held.retired_at, held.retired_by, held.retired_why = None, None, ""
    held.save(update_fields=["retired_at", "retired_by", "retired_why"])
    return held


def _locked(stylus: Stylus) -> Stylus:
    return Stylus.objects.select_for_update(of=("self",)).select_related("kind").get(pk=stylus.pk)


def _not_retired(stylus: Stylus) -> None:
    if stylus.retired_at is not None:
        when = rules.clock_words(stylus.retired_at)
        raise Refused(f"{stylus} was retired at {when} ({stylus.get_retired_why_display().lower()}).")


def _fitting_of(stylus: Stylus) -> Fitting | None:
    return (
        Fitting.objects.select_for_update(of=("self",))
        .select_related("life__stylus", "lathe")
        .filter(life__stylus=stylus, off_at__isnull=True)
        .first()
    )


def _after_what_was(fittings: QuerySet[Fitting], at: datetime, what: str) -> None:
    last = fittings.aggregate(last=Max("off_at"))["last"]
    if last is not None and at < last:
        raise Refused(f"{what} until {rules.clock_words(last)}. Give a time after that.", field="at")


def _after_last_side(life: Life, at: datetime) -> None:
    last = Side.objects.filter(life=life, withdrawal__isnull=True).aggregate(last=Max("at"))["last"]
    if last is not None and at < last:
        raise Refused(f"It cut a side that ended at {rules.clock_words(last)}. Give a time after that.", field="at")


def _take_off(fitting: Fitting, *, at: datetime, by: Person, note: str) -> Fitting:
    if at < fitting.fitted_at:
        raise Refused(f"It was only fitted at {rules.clock_words(fitting.fitted_at)}.", field="at")
    _after_last_side(fitting.life, at)
    fitting.off_at, fitting.off_by = at, by
    if note and not fitting.note:
        fitting.note = note
    fitting.save(update_fields=["off_at", "off_by", "note"])
    return fitting
