"""What people do with styli: enter one, fit it, take it off, retire it, put a retirement right."""

from datetime import date, datetime
from decimal import Decimal

from django.db.models import Max, QuerySet

from shop import clock
from shop.cutting import noise, rules
from shop.cutting.actions.lists import tip_radius
from shop.cutting.models import (
    UNDER_WAY,
    Away,
    CameBack,
    EdgeLook,
    EndReason,
    Fitting,
    Lathe,
    Life,
    RunningSide,
    Side,
    Stylus,
    StylusKind,
)
from shop.people.authority import needs
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, not_after_today, not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Refused
from shop.stock import ledger
from shop.stock.models import ItemKind, Lot, MovementKind, Supplier
from shop.stock.rules import cost, fit_to_use
from shop.wording import in_full

#: The included angles that may be entered for a tip: wide enough for any, narrow enough to catch a slip.
TIP_ANGLE_DEG = (60.0, 120.0)
#: The hours that an edge may have cut before it was kept here.
BEFORE_H = (0.0, 1000.0)


@action(roles=HANDS)
def add_stylus(
    *,
    by: Person,
    mark: str,
    kind: StylusKind,
    received_on: date | None = None,
    lot: Lot | None = None,
    tip_radius_um: float | None = None,
    tip_angle_deg: float | None = None,
    before_h: float | None = 0.0,
    supplier: Supplier | None = None,
    price: Decimal | None = None,
    note: str = "",
) -> Stylus:
    """Enter a stylus by the mark on its box or shank.

    before_h: what its edge had cut before it was kept here, None where nobody knows.

    If it comes out of a stock lot, one is used from that lot in the same transaction: from then on it is known by its
    mark, and supplier and price are the lot's. Refuses a mark that is taken, a lot of something else, and one that is
    on hold or past its date.
    """
    sentence = "There is a stylus of that mark. Put something beside it to tell them apart."
    mark = not_taken(Stylus, words(mark, field="mark", longest=40, needed=True), field="mark", sentence=sentence)
    now = clock.now()
    stylus = Stylus(
        mark=mark,
        kind=kind,
        lot=lot,
        received_on=not_after_today(received_on or (lot.received_on if lot else clock.today()), field="received_on"),
        **_tip(tip_radius_um, tip_angle_deg),
        before_s=_before(before_h),
        **_source(lot, supplier, price),
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


@action(roles=ENGINEERS)
def change_stylus(
    *,
    by: Person,
    stylus: Stylus,
    version: int,
    before_h: float | None,
    tip_radius_um: float | None = None,
    tip_angle_deg: float | None = None,
    supplier: Supplier | None = None,
    price: Decimal | None = None,
    note: str = "",
) -> Stylus:
    """Say what its tip measures, what the edge it came with had cut before (before_h; None where nobody knows), and of
    one that came out of no lot from whom it came and for how much. Its hours and what is left of it change at once."""
    held = still_as_read(stylus, version)
    for field, value in (_tip(tip_radius_um, tip_angle_deg) | _source(held.lot, supplier, price)).items():
        setattr(held, field, value)
    held.before_s = _before(before_h)
    held.note = words(note, field="note", longest=300)
    held.version += 1
    held.save()
    return held


@action(roles=HANDS)
@needs("fit-stylus")
def fit_stylus(*, by: Person, stylus: Stylus, lathe: Lathe, at: datetime | None = None, note: str = "") -> Fitting:
    """Put a stylus into a lathe's head; its life begins if none is open and its edge is a fresh one.

    Refuses a retired stylus, one that is away or whose edge came to its end, a lathe out of use, a head with another
    stylus in it (and says which), a stylus that is in a head already, and a time before it came in, came back or before
    the head was last free.
    """
    at = happened_at(at)
    held = locked(stylus)
    not_retired(held)
    not_away(held)
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
    after_it_was_away(held, at)
    life = _open_life(held) or _new_life(held, at)
    return Fitting.objects.create(
        life=life, lathe=lathe, fitted_at=at, fitted_by=by, note=words(note, field="note", longest=300)
    )


@action(roles=HANDS)
def take_off_stylus(*, by: Person, stylus: Stylus, at: datetime | None = None, note: str = "") -> Fitting:
    """Take a stylus out of the head it is in; its life goes on. Refuses one that is in no head."""
    at = happened_at(at)
    held = locked(stylus)
    fitting = _fitting_of(held)
    if fitting is None:
        raise Refused(f"{held} is not in a head: there is nothing to take off.")
    return _take_off(fitting, at=at, by=by, note=words(note, field="note", longest=300))


@action(roles=HANDS)
def look_over_stylus(*, by: Person, stylus: Stylus, seen: str) -> EdgeLook:
    """Say that the edge was looked over and is whole, and what was seen: it is then no longer in doubt.

    Refuses a retired stylus, and one that was never fitted.
    """
    held = locked(stylus)
    not_retired(held)
    life = _open_life(held)
    if life is None:
        what = "has not been in a head yet" if not held.lives.exists() else "has no edge in use"
        raise Refused(f"{held} {what}: nothing speaks against its edge.")
    seen = words(seen, field="seen", longest=300, needed=True)
    look = EdgeLook.objects.create(life=life, at=clock.now(), by=by, seen=seen)
    noise.look_again(life)
    return look


@action(roles=HANDS)
def retire_stylus(*, by: Person, stylus: Stylus, reason: str, at: datetime | None = None, note: str = "") -> Stylus:
    """Retire a stylus for good: out of its head if it is in one, its life ended for `reason` (an EndReason).

    One that is away is taken as not coming back. Refuses one that was retired, and a time before its last side.
    """
    at = happened_at(at)
    note = words(note, field="note", longest=300)
    if reason not in EndReason.values:
        raise Refused("Choose why it is retired.", field="reason")
    held = locked(stylus)
    not_retired(held)
    after_it_was_away(held, at)
    if away := away_now(held):
        given_up(away, at=at, by=by)
    else:
        end_life(held, at=at, by=by, reason=reason, note=note, off_because="retired")
    return retired(held, at=at, by=by, reason=reason)


@action(roles=ENGINEERS)
def reinstate_stylus(*, by: Person, stylus: Stylus) -> Stylus:
    """Put a mistaken retirement right: the stylus is in the drawer again and the life that it ended goes on; one that
    was given up while it was away is away again."""
    held = locked(stylus)
    if held.retired_at is None:
        raise Refused(f"{held} is not retired.")
    given_up_then = held.times_away.filter(back_at=held.retired_at, came_back=CameBack.NEVER)
    if not given_up_then.update(back_at=None, back_by=None, came_back=""):
        held.lives.filter(ended_at=held.retired_at).update(ended_at=None, end_reason="", end_note="")
    held.retired_at, held.retired_by, held.retired_why = None, None, ""
    held.save(update_fields=["retired_at", "retired_by", "retired_why"])
    return held


# What the other actions about styli need ------------------------------------------------------------------------------


def locked(stylus: Stylus) -> Stylus:
    """The stylus, its row held until the transaction ends."""
    return Stylus.objects.select_for_update(of=("self",)).select_related("kind").get(pk=stylus.pk)


def not_retired(stylus: Stylus) -> None:
    if stylus.retired_at is not None:
        when = rules.clock_words(stylus.retired_at)
        raise Refused(f"{stylus} was retired at {when} ({stylus.get_retired_why_display().lower()}).")


def away_now(stylus: Stylus) -> Away | None:
    """Its time away, if it has not come back."""
    return stylus.times_away.filter(back_at__isnull=True).select_related("ended").first()


def not_away(stylus: Stylus) -> None:
    if away := away_now(stylus):
        raise Refused(f"{stylus} is away with {away.sent_to} since {rules.clock_words(away.sent_at)}.")


def after_it_was_away(stylus: Stylus, at: datetime) -> None:
    """Refuses a time while it was away: what is said of then would lie across that."""
    last = stylus.times_away.order_by("-sent_at", "-id").first()
    if last is None:
        return
    if at < last.sent_at or (last.back_at is not None and at < last.back_at):
        until = f" until {rules.clock_words(last.back_at)}" if last.back_at else ""
        since = f"was away from {rules.clock_words(last.sent_at)}{until}"
        raise Refused(f"{stylus} {since}. Give a time after that.", field="at")


def end_life(stylus: Stylus, *, at: datetime, by: Person, reason: str, note: str, off_because: str) -> Life | None:
    """Take it out of the head it is in and end its open life for `reason`; the life, or None if none was open."""
    if fitting := _fitting_of(stylus):
        _take_off(fitting, at=at, by=by, note=off_because)
    _after_what_was(Fitting.objects.filter(life__stylus=stylus), at, f"{stylus} was in a head")
    life = stylus.lives.select_for_update().filter(ended_at__isnull=True).first()
    if life is None:
        return None
    _after_last_side(life, at)
    if at < life.began_at:
        raise Refused(f"Its life began at {rules.clock_words(life.began_at)}, after that.", field="at")
    life.ended_at, life.end_reason, life.end_note = at, reason, note
    life.save(update_fields=["ended_at", "end_reason", "end_note"])
    return life


def retired(stylus: Stylus, *, at: datetime, by: Person, reason: str) -> Stylus:
    """Write down that it is retired."""
    stylus.retired_at, stylus.retired_by, stylus.retired_why = at, by, reason
    stylus.save(update_fields=["retired_at", "retired_by", "retired_why"])
    return stylus


def given_up(away: Away, *, at: datetime, by: Person, note: str = "") -> None:
    """Write down that what is away will not come back."""
    away.back_at, away.back_by, away.came_back, away.back_note = at, by, CameBack.NEVER, note
    away.save(update_fields=["back_at", "back_by", "came_back", "back_note"])


# The steps of these ---------------------------------------------------------------------------------------------------


def _open_life(stylus: Stylus) -> Life | None:
    return stylus.lives.filter(ended_at__isnull=True).first()


def _new_life(stylus: Stylus, at: datetime) -> Life:
    """A life of the edge it came with, or of one that was re-lapped since the last ended; refuses one at its end."""
    last = stylus.lives.order_by("-number").first()
    if last is None:
        return Life.objects.create(stylus=stylus, number=1, began_at=at)
    assert last.ended_at is not None
    fresh = (
        stylus.times_away.filter(came_back=CameBack.FRESH, made__isnull=True, back_at__gte=last.ended_at)
        .order_by("-back_at", "-id")
        .first()
    )
    if fresh is None:
        raise Refused(
            f"The edge of {stylus} came to its end at {rules.clock_words(last.ended_at)} "
            f"({last.get_end_reason_display().lower()}), and it was not re-lapped since."
        )
    return Life.objects.create(stylus=stylus, number=last.number + 1, began_at=at, relapped=fresh)


def _tip(radius_um: float | None, angle_deg: float | None) -> dict[str, float | None]:
    if angle_deg is not None:
        rules.between(angle_deg, *TIP_ANGLE_DEG, field="tip_angle_deg", unit="degrees")
    return {"tip_radius_um": tip_radius(radius_um), "tip_angle_deg": angle_deg}


def _before(hours: float | None) -> int | None:
    return None if hours is None else round(3600 * rules.between(hours, *BEFORE_H, field="before_h", unit="hours"))


def _source(lot: Lot | None, supplier: Supplier | None, price: Decimal | None) -> dict[str, Supplier | Decimal | None]:
    """From whom it came and for how much; nothing for one out of a lot, which says both."""
    if lot is not None:
        return {"supplier": None, "price": None}
    return {"supplier": supplier, "price": cost(price, field="price")}


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
    begun = RunningSide.objects.filter(UNDER_WAY, life=life, stopped_at__gt=at)
    if run := begun.select_related("wanted__booking").order_by("started_at", "id").first():
        assert run.stopped_at is not None
        raise Refused(
            f"{run.name} was begun with it at {rules.clock_words(run.started_at)} and stopped at "
            f"{rules.clock_words(run.stopped_at)}. Say first what became of that, or give a time after it.",
            field="at",
        )


def _take_off(fitting: Fitting, *, at: datetime, by: Person, note: str) -> Fitting:
    rules.not_cutting(fitting)
    if at < fitting.fitted_at:
        raise Refused(f"It was only fitted at {rules.clock_words(fitting.fitted_at)}.", field="at")
    _after_last_side(fitting.life, at)
    fitting.off_at, fitting.off_by = at, by
    if note and not fitting.note:
        fitting.note = note
    fitting.save(update_fields=["off_at", "off_by", "note"])
    return fitting
