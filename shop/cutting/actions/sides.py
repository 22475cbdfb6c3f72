"""Logging a side, and withdrawing one that was logged by mistake."""

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime, timedelta

from django.db.models import F

from shop import clock
from shop.alongside import own_row
from shop.cutting import noise, plans, queries, rules, wording
from shop.cutting.actions import checks
from shop.cutting.actions.bookings import finish_if_cut, locked, reopen_if_uncut
from shop.cutting.actions.lists import LEVEL_DB
from shop.cutting.actions.noise import level_doubts
from shop.cutting.models import (
    BookingSide,
    CuttingLimits,
    Lathe,
    Life,
    Master,
    NoiseLevel,
    Outcome,
    RejectReason,
    RunningSide,
    Side,
    Stylus,
    Withdrawal,
)
from shop.duties import meters
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import words
from shop.refusal import Doubt, NotAllowed, NotEnough, Refused, ask_unless_sure
from shop.stock import ledger, quality
from shop.stock import rules as stock_rules
from shop.stock.models import Lot, Movement, MovementKind

#: What becomes of the blank, by what became of the side.
MOVEMENT = {
    Outcome.GOOD: MovementKind.USED,
    Outcome.REJECTED: MovementKind.SPOILED,
    Outcome.TEST: MovementKind.TESTED,
}
#: How long whoever logged a side may take it back unasked.
SECOND_THOUGHTS = timedelta(minutes=10)
#: Meters that a side is counted on where the room has them: hours cut and sides, for care that waits for so many.
COUNTED_IF_THERE = ("cut", "sides")
#: A good side this much longer or shorter than it was booked is asked about: 5 %, at least 5 s.
OFF_BY = 0.05


@action(roles=HANDS)
def log_side(
    *,
    by: Person,
    wanted: BookingSide | None,
    lathe: Lathe,
    lot: Lot,
    outcome: str,
    cut_s: int,
    disc_in: int,
    speed: str,
    pitch_um: float | None,
    width_um: float,
    at: datetime | None = None,
    reject_reason: RejectReason | None = None,
    cut_text: str = "",
    level_db: float | None = None,
    note: str = "",
    overrule: str = "",
    stylus: Stylus | None = None,
    sure: Collection[str] = (),
) -> Side:
    """Record one side cut, with all that it took.

    1. checks the figures, and that the side fits its disc; 2. holds the booking and refuses one that is not open;
    3. finds the stylus that was in the lathe's head then; 4. takes the blank from its lot (used, tested or spoiled);
    5. asks about what looked wrong before that: nothing stays if it does; 6. adds hours and metres to the stylus's
    life, chip to the trap, hours to the vacuum line; 7. lets a good one wait for plating; 8. finishes the booking if
    this was its last side.

    pitch_um: None for the usual one. level_db: the noise of its silent groove, where that was measured. at: when the
    cut ended, None for now. stylus: the one the person saw in the head, if given: another one there is refused.
    overrule: an engineer's reason for a side that is longer than its disc holds, or a lot that is on hold or past its
    date; each of them is asked about, and confirmed in `sure`.
    """
    return record(
        by=by,
        wanted=wanted,
        lathe=lathe,
        lot=lot,
        outcome=outcome,
        cut_s=cut_s,
        disc_in=disc_in,
        speed=speed,
        pitch_um=pitch_um,
        width_um=width_um,
        at=at,
        reject_reason=reject_reason,
        cut_text=cut_text,
        level_db=level_db,
        note=note,
        overrule=overrule,
        stylus=stylus,
        sure=sure,
    )


def record(
    *,
    by: Person,
    wanted: BookingSide | None,
    lathe: Lathe,
    lot: Lot,
    outcome: str,
    cut_s: int,
    disc_in: int,
    speed: str,
    pitch_um: float | None,
    width_um: float,
    at: datetime | None,
    reject_reason: RejectReason | None,
    cut_text: str,
    level_db: float | None,
    note: str,
    overrule: str,
    stylus: Stylus | None,
    sure: Collection[str],
    run: RunningSide | None = None,
    spirals_s: int = 0,
    was_looked_at: bool = False,
) -> Side:
    """What log_side does, within another action's transaction. spirals_s: of `cut_s`, seconds that were no music.

    run: where it was started, and this says what became of it: planned for its booked side, whether it is logged for
    that or without it (`wanted` is None then). was_looked_at: whether the lot, and that the side fits, were looked at
    before it was cut: it is as it is by now, and `overrule` is what was said then.
    """
    is_timed = at is not None
    at = stock_rules.happened_at(at, lot)
    cut_text = words(cut_text, field="cut_text", longest=80)
    note = words(note, field="note", longest=500)
    overrule = words(overrule, field="overrule", longest=300)
    reason = _reason(outcome, reject_reason)
    if level_db is not None:
        level_db = rules.between(level_db, *LEVEL_DB, field="level_db", unit="dB")
    planned = run.wanted if run is not None else wanted
    cut = checks.figures_of(cut_s, disc_in, speed, width_um, pitch_um, planned, spirals_s=spirals_s)
    booking = checks.open_booking(wanted)
    life = checks.life_in_head(lathe, at, stylus)
    held = checks.blank_of(lot, disc_in)
    overruled = overrule
    if not was_looked_at:
        overruled = checks.overruled(cut, held, day=clock.day_of(at), by=by, overrule=overrule, sure=sure)
    # Seen before the blank is gone, for a lot's last one is in its turn too; asked after, for a lot that is empty by
    # now is refused, not asked about.
    doubts = _doubts(wanted, cut, held, outcome, lathe=lathe, at=at, is_timed=is_timed, by=by)
    doubts += level_doubts(level_db) if level_db is not None else []
    if run is None:
        doubts += checks.none_under_way(wanted, lathe, at, cut.cut_s, is_timed=is_timed)
    movement = _take_blank(held, outcome=outcome, at=at, by=by, note=reason.name if reason else _for(wanted, outcome))
    ask_unless_sure(doubts, sure)

    length_mm = round(cut.plan.length_m * 1000)
    side = Side.objects.create(
        wanted=wanted,
        lathe=lathe,
        life=life,
        lot=held,
        movement=movement,
        at=at,
        recorded_at=clock.now(),
        by=by,
        disc_in=disc_in,
        speed=speed,
        cut_s=cut_s,
        pitch_um=cut.pitch_um,
        width_um=width_um,
        inner_mm=cut.plan.inner_mm,
        length_mm=length_mm,
        chip_mg=plans.chip_mg(width_um=width_um, length_m=cut.plan.length_m, tip_radius_um=life.stylus.radius_um),
        outcome=outcome,
        reject_reason=reason,
        cut_text=cut_text,
        overruled=overruled,
        note=note,
    )
    Life.objects.filter(pk=life.pk).update(
        cut_s=F("cut_s") + cut_s, length_mm=F("length_mm") + length_mm, sides=F("sides") + 1
    )
    if level_db is not None:
        NoiseLevel.objects.create(life=life, side=side, at=at, by=by, level_db=level_db)
    noise.look_again(life)
    if outcome == Outcome.GOOD and _keeps_masters():
        Master.objects.create(side=side)
    meters.advance_all(_counts(side), at=at, by=by, note=str(side), if_there=COUNTED_IF_THERE)
    if booking is not None:
        finish_if_cut(booking, but=run)
    if reason is not None:
        quality.look_again(held.item)
    return side


@action(roles=HANDS)
def withdraw_side(*, by: Person, side: Side, reason: str, sure: Collection[str] = ()) -> Withdrawal:
    """Take back a side that was logged by mistake; the record of it stays, with the withdrawal that names it.

    For engineers, and for whoever logged it within ten minutes. The blank goes back to its lot by a reversing
    movement; hours, metres and the side come off the stylus's life; chip and hours come off their meters unless those
    were reset since; a booking that it had finished is open again. Asks about one whose master went to plating: what
    lies in a parcel was cut; it stays in the parcel, marked as withdrawn.
    """
    reason = words(reason, field="reason", longest=300, needed=True)
    now = clock.now()
    if not may_withdraw(side, by):
        raise NotAllowed(
            "Only an engineer may withdraw that side: ten minutes are gone since it was logged, or another logged it."
        )
    booking = locked(side.wanted.booking) if side.wanted is not None else None
    if Withdrawal.objects.filter(side=side).exists():
        raise Refused("That side was withdrawn already.")
    ask_unless_sure(_went_to_plating(side), sure)
    reversing = ledger.reverse(movement=side.movement, at=now, by=by, note=f"side {side.pk} withdrawn: {reason}"[:300])
    taken = Withdrawal.objects.create(side=side, at=now, by=by, reason=reason, movement=reversing)
    Life.objects.filter(pk=side.life_id).update(
        cut_s=F("cut_s") - side.cut_s, length_mm=F("length_mm") - side.length_mm, sides=F("sides") - 1
    )
    Master.objects.filter(side=side, parcel__isnull=True).delete()
    noise.look_again(side.life)
    meters.take_back_all(_counts(side), at=side.at, by=by, note=f"{side} withdrawn", if_there=COUNTED_IF_THERE)
    if booking is not None:
        reopen_if_uncut(booking)
    if side.reject_reason_id is not None:
        quality.look_again(side.lot.item)
    return taken


def _went_to_plating(side: Side) -> list[Doubt]:
    master = Master.objects.filter(side=side, parcel__isnull=False).select_related("parcel").first()
    if master is None:
        return []
    assert master.parcel is not None
    sentence = (
        f"It went to {master.parcel.sent_to} in {master.parcel} at {rules.clock_words(master.parcel.sent_at)}"
        + (f", and was reported {master.get_report_display().lower()}" if master.report else "")
        + ": what lies in a parcel was cut, and its blank is not in the room."
    )
    confirm = f"Withdraw it all the same: it is not what lies in {master.parcel}, or I log it anew."
    return [Doubt(key=f"parcel-{master.parcel_id}-{master.report}:", field="", sentence=sentence, confirm=confirm)]


def _keeps_masters() -> bool:
    """Whether what becomes of masters is kept here: where the shop has set days to plating."""
    return own_row(CuttingLimits).plating_days is not None


def may_withdraw(side: Side, person: Person) -> bool:
    """Whether this person may withdraw the side now, by role or because it is their own of a moment ago."""
    own = side.by_id == person.pk and clock.now() - side.recorded_at <= SECOND_THOUGHTS
    return person.is_engineer or (person.is_hand and own)


# The steps of log_side ------------------------------------------------------------------------------------------------


def _reason(outcome: str, reject_reason: RejectReason | None) -> RejectReason | None:
    if outcome not in Outcome.values:
        raise Refused("Say what became of it.", field="outcome")
    if outcome == Outcome.REJECTED and reject_reason is None:
        raise Refused("Say why it was rejected.", field="reject_reason")
    return reject_reason if outcome == Outcome.REJECTED else None


def _doubts(
    wanted: BookingSide | None,
    cut: checks.Cut,
    lot: Lot,
    outcome: str,
    *,
    lathe: Lathe,
    at: datetime,
    is_timed: bool,
    by: Person,
) -> list[Doubt]:
    found = checks.differs_from_booking(wanted, cut, lot)

    def ask(what: str, field: str, sentence: str) -> None:
        found.append(Doubt(key=f"{what}:{field}", field=field, sentence=sentence))

    if wanted is not None and outcome == Outcome.GOOD:
        if abs(cut.cut_s - wanted.play_s) > max(5, OFF_BY * wanted.play_s):
            booked = wording.minutes_words(wanted.play_s)
            ask(f"length-{cut.cut_s}", "cut_s", f"Side {wanted} is booked as {booked} long.")
        if before := queries.good_cut(wanted):
            ask(
                f"again-{before.pk}",
                "outcome",
                f"Side {wanted} has a good cut already, of {rules.clock_words(before.at)}. Is this another?",
            )
    found += checks.alone_on_its_lathe(lathe, at, cut.cut_s, is_timed=is_timed)
    found += [replace(doubt, field="lot") for doubt in stock_rules.out_of_turn(lot, day=clock.day_of(at), by=by)]
    return found


def _for(wanted: BookingSide | None, outcome: str) -> str:
    if outcome == Outcome.TEST:
        return f"test cut, {wanted}" if wanted else "test cut"
    return str(wanted) if wanted else ""


def _counts(side: Side) -> dict[str, int]:
    """What a side adds to each meter, in the meter's kept unit."""
    return {"chip": side.chip_mg, "cut": side.cut_s, "line": side.cut_s, "sides": 1}


def _take_blank(lot: Lot, *, outcome: str, at: datetime, by: Person, note: str) -> Movement:
    try:
        return ledger.move(lot=lot, kind=MOVEMENT[Outcome(outcome)], change=-1, at=at, by=by, note=note)
    except NotEnough as none_left:
        raise NotEnough(none_left.sentence, field="lot") from none_left
