"""Cutting a side: the head goes down, it comes up, and somebody says what became of it."""

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.db.models import Max

from shop import clock
from shop.cutting import plans, queries, rules
from shop.cutting.actions import checks, sides
from shop.cutting.actions.bookings import finish_if_cut
from shop.cutting.actions.bookings import locked as locked_booking
from shop.cutting.models import UNDER_WAY, BookingSide, Lathe, Life, RejectReason, RunningSide, Side, Stylus
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import words
from shop.refusal import Doubt, NotEnough, Refused, ask_unless_sure
from shop.stock import rules as stock_rules
from shop.stock.models import Lot

#: How long ago a device may say that it was pressed, while it had no connection.
LATEST_PRESS = timedelta(hours=3)


@action(roles=HANDS)
def start_side(
    *,
    by: Person,
    wanted: BookingSide | None,
    lathe: Lathe,
    lot: Lot,
    disc_in: int,
    speed: str,
    pitch_um: float | None,
    width_um: float,
    stylus: Stylus | None = None,
    overrule: str = "",
    pressed_at: datetime | None = None,
    sure: Collection[str] = (),
) -> RunningSide:
    """Say that the head goes down now; nothing is taken yet.

    Refuses a lathe on which a side runs, an empty head, a booking that is not open, a lot that gives no blank for it,
    and a side that does not fit, which an engineer may overrule. Asks about what is not as booked, about an edge in
    doubt and advice against this side that was not overruled today, about the same side on another lathe, and about a
    side on that lathe of which nobody has said what became of it. pressed_at: when a device without a connection was
    pressed; it begins when the last one was stopped there, if that was later.
    """
    overrule = words(overrule, field="overrule", longest=300)
    held_lathe = Lathe.objects.select_for_update().get(pk=lathe.pk)
    if not held_lathe.is_active:
        raise Refused(f"{lathe} is out of use.", field="stylus")
    _nothing_runs(held_lathe)
    at = max([pressed(pressed_at), *_last_stop(held_lathe)])
    booking = checks.open_booking(wanted)
    life = checks.life_in_head(lathe, at, stylus)
    play_s = wanted.play_s if wanted is not None else None
    cut = checks.figures_of(play_s or 1, disc_in, speed, width_um, pitch_um, wanted)
    blank = checks.blank_of(lot, disc_in)
    overruled = checks.overruled(cut, blank, day=clock.day_of(at), by=by, overrule=overrule, sure=sure)
    if blank.on_hand <= RunningSide.objects.filter(UNDER_WAY, lot=blank).count():
        raise NotEnough(f"Lot {blank.code} has no blank left for it.", field="lot")
    doubts = checks.differs_from_booking(wanted, cut, blank)
    if wanted is not None and (before := queries.good_cut(wanted)):
        doubts.append(_again(wanted, before))
    doubts += _elsewhere(wanted, held_lathe)
    doubts += _unjudged(held_lathe)
    doubts += _edge(life)
    doubts += _advised_against(life, wanted)
    doubts += [replace(doubt, field="lot") for doubt in stock_rules.out_of_turn(blank, day=clock.day_of(at), by=by)]
    ask_unless_sure(doubts, sure)
    assert wanted is None or booking is not None
    try:
        with transaction.atomic():
            return RunningSide.objects.create(
                wanted=wanted,
                lathe=held_lathe,
                life=life,
                lot=blank,
                disc_in=disc_in,
                speed=speed,
                pitch_um=cut.pitch_um,
                width_um=width_um,
                play_s=play_s,
                overruled=overruled,
                started_at=at,
                started_by=by,
            )
    except IntegrityError:
        _nothing_runs(held_lathe)
        raise


@action(roles=HANDS)
def stop_side(*, by: Person, run: RunningSide, pressed_at: datetime | None = None) -> RunningSide:
    """Say that the head came up. Stopping it once more changes nothing; refuses one that was not cut."""
    held = _locked(run)
    if held.dropped_at is not None:
        raise Refused(_dropped_words(held))
    if held.stopped_at is None:
        held.stopped_at = max(held.started_at, pressed(pressed_at))
        held.stopped_by = by
        held.save(update_fields=["stopped_at", "stopped_by"])
    return held


@action(roles=HANDS)
def judge_side(
    *,
    by: Person,
    run: RunningSide,
    outcome: str,
    cut_s: int,
    lot: Lot,
    reject_reason: RejectReason | None = None,
    cut_text: str = "",
    level_db: float | None = None,
    note: str = "",
    overrule: str = "",
    without_booking: bool = False,
    sure: Collection[str] = (),
) -> Side:
    """Say what became of a side that was stopped: it is logged, with all that it took (see log_side).

    cut_s: how long it was cut; another length than from start to stop moves its end. Refuses one that still runs, was
    logged already, or was not cut. With the length it ran and the blank it was started on, what was looked at before
    is not looked at again: it is cut. without_booking: log it without the booking it was started for, which was
    finished or cancelled meanwhile. Where it was logged already, see judge_as_logged.
    """
    held = _to_be_judged(run)
    assert held.stopped_at is not None
    wanted = _counts_for(held, without_booking=without_booking)
    as_it_ran = cut_s == seconds_of(held)
    ended = held.stopped_at if as_it_ran else held.started_at + timedelta(seconds=cut_s)
    if ended > clock.now():
        raise Refused(f"It was begun at {rules.clock_words(held.started_at)}: it is not that long ago.", field="cut_s")
    _before_the_next(held, ended)
    looked_at = as_it_ran and lot.pk == held.lot_id
    side = sides.record(
        by=by,
        wanted=wanted,
        lathe=held.lathe,
        lot=lot,
        outcome=outcome,
        cut_s=cut_s,
        disc_in=held.disc_in,
        speed=held.speed,
        pitch_um=held.pitch_um,
        width_um=held.width_um,
        at=ended,
        reject_reason=reject_reason,
        cut_text=cut_text,
        level_db=level_db,
        note=note,
        overrule=held.overruled if looked_at else overrule,
        stylus=held.life.stylus,
        sure=sure,
        run=held,
        spirals_s=plans.spirals_s(held.speed),
        was_looked_at=looked_at,
    )
    held.side = side
    held.save(update_fields=["side"])
    return side


@action(roles=HANDS)
def judge_as_logged(*, by: Person, run: RunningSide, side: Side) -> Side:
    """Say that a side that was stopped is one that is logged already: it is that one's start, and takes nothing more.

    Refuses a side that was withdrawn, that is another start's, or that cannot be this one: logged before it was begun,
    cut on another lathe or with another edge, or for another booked side.
    """
    held = _to_be_judged(run)
    if side not in queries.may_be_of(held):
        raise Refused(f"{side.wanted or side} is not what was begun then, or was withdrawn meanwhile.", field="side")
    held.side = side
    held.save(update_fields=["side"])
    _finish(held)
    return side


@action(roles=HANDS)
def drop_side(*, by: Person, run: RunningSide, why: str) -> RunningSide:
    """Say that a started side was not cut: no blank was used and no hours count. Refuses one that is logged."""
    why = words(why, field="why", longest=300, needed=True)
    held = _locked(run)
    if held.side_id is not None:
        raise Refused("What became of it was said already. Withdraw the side, if it was a mistake.")
    if held.dropped_at is not None:
        raise Refused(_dropped_words(held))
    held.dropped_at, held.dropped_by, held.dropped_why = clock.now(), by, why
    held.save(update_fields=["dropped_at", "dropped_by", "dropped_why"])
    _finish(held)
    return held


def pressed(pressed_at: datetime | None) -> datetime:
    """When a button was pressed: as the device says, if that is believable; now, if not."""
    now = clock.now()
    return pressed_at if pressed_at is not None and now - LATEST_PRESS <= pressed_at <= now else now


def seconds_of(run: RunningSide) -> int:
    """How long a stopped side was cut, in whole seconds, at least one."""
    assert run.stopped_at is not None
    return max(1, round((run.stopped_at - run.started_at).total_seconds()))


# Their steps ----------------------------------------------------------------------------------------------------------


def _locked(run: RunningSide) -> RunningSide:
    """The row as it now stands; its booking is held first, as when a side is logged."""
    if run.wanted is not None:
        locked_booking(run.wanted.booking)
    return (
        RunningSide.objects.select_for_update(of=("self",))
        .select_related("wanted__booking", "lathe", "life__stylus__kind", "lot__item")
        .get(pk=run.pk)
    )


def _to_be_judged(run: RunningSide) -> RunningSide:
    held = _locked(run)
    if held.side_id is not None:
        raise Refused("What became of it was said already.")
    if held.dropped_at is not None:
        raise Refused(_dropped_words(held))
    if held.stopped_at is None:
        raise Refused("It still runs. Stop it first.")
    return held


def _counts_for(run: RunningSide, *, without_booking: bool) -> BookingSide | None:
    """The booked side that it is logged for."""
    if run.wanted is None or not without_booking:
        checks.open_booking(run.wanted, field="without_booking")
        return run.wanted
    if run.wanted.booking.is_open:
        raise Refused(f"Booking {run.wanted.booking.code} is open again: it counts for that.")
    return None


def _finish(run: RunningSide) -> None:
    """Its booking, which may have waited for nothing else."""
    if run.wanted is not None:
        finish_if_cut(locked_booking(run.wanted.booking))


def _before_the_next(run: RunningSide, ended: datetime) -> None:
    """Refuse an end after another was begun on that lathe of which nobody has said what became of it."""
    later = RunningSide.objects.filter(UNDER_WAY, lathe=run.lathe, started_at__gte=run.stopped_at)
    nexts = later.exclude(pk=run.pk).select_related("wanted__booking").order_by("started_at", "id")
    if (then := nexts.first()) and ended > then.started_at:
        when = rules.clock_words(then.started_at)
        raise Refused(f"{then.name} was begun on {run.lathe} at {when}: this one had ended by then.", field="cut_s")


def _last_stop(lathe: Lathe) -> list[datetime]:
    """When the last side on that lathe of which nobody has said what became of it was stopped, if there is one."""
    waiting = RunningSide.objects.filter(UNDER_WAY, lathe=lathe)
    last = waiting.aggregate(last=Max("stopped_at"))["last"]
    return [last] if last is not None else []


def _nothing_runs(lathe: Lathe) -> None:
    running = RunningSide.objects.filter(lathe=lathe, stopped_at__isnull=True, dropped_at__isnull=True)
    if there := running.select_related("wanted__booking").first():
        raise Refused(
            f"{there.name} runs on {lathe} since {rules.clock_words(there.started_at)}. Stop that first, or take "
            "another lathe.",
            field="stylus",
        )


def _unjudged(lathe: Lathe) -> list[Doubt]:
    waiting = RunningSide.objects.filter(UNDER_WAY, lathe=lathe, stopped_at__isnull=False)
    there = waiting.select_related("wanted__booking").order_by("-started_at").first()
    if there is None:
        return []
    when = rules.clock_words(there.started_at)
    sentence = f"Nobody has said what became of {there}, begun on {lathe} at {when}. Start another all the same?"
    return [Doubt(key=f"unjudged-{there.pk}:stylus", field="stylus", sentence=sentence)]


def _again(wanted: BookingSide, before: Side) -> Doubt:
    sentence = f"Side {wanted} has a good cut already, of {rules.clock_words(before.at)}. Cut it again?"
    return Doubt(key=f"again-{before.pk}:stylus", field="stylus", sentence=sentence)


def _edge(life: Life) -> list[Doubt]:
    against = queries.doubted_edges([life.pk]).get(life.pk, [])
    if not against:
        return []
    sentence = (
        f"{life.stylus} is in doubt: a side of {rules.clock_words(against[0].at)} was rejected "
        f"({against[0].reject_reason}), and nobody has looked its edge over since. Start all the same?"
    )
    return [Doubt(key=f"edge-{against[0].pk}:stylus", field="stylus", sentence=sentence)]


def _elsewhere(wanted: BookingSide | None, lathe: Lathe) -> list[Doubt]:
    """The same booked side under way on another lathe: as a second cut of it, if that is meant."""
    if wanted is None:
        return []
    there = RunningSide.objects.filter(UNDER_WAY, wanted=wanted).exclude(lathe=lathe)
    found = []
    for run in there.select_related("lathe").order_by("started_at", "id"):
        when = rules.clock_words(run.started_at)
        if run.is_running:
            said = f"Side {wanted} runs on {run.lathe} since {when}. Cut it on {lathe} as well?"
        else:
            said = f"Side {wanted} was begun on {run.lathe} at {when}, and nobody has said what became of it. Again?"
        found.append(Doubt(key=f"elsewhere-{run.pk}:stylus", field="stylus", sentence=said))
    return found


def _advised_against(life: Life, wanted: BookingSide | None) -> list[Doubt]:
    """What the advice has against cutting this side with this edge, but what was overruled today; see _edge besides."""
    for told in queries.told_of_heads([wanted] if wanted is not None else []):
        against = [one for one in told.against if one.matter != queries.Matter.EDGE]
        if told.fitting.life_id != life.pk or not against:
            continue
        # Asked anew where it gets graver, or something else comes up.
        key = "-".join(sorted(f"{one.matter}{int(one.grade)}" for one in against))
        look = all(one.matter == queries.Matter.JUMP for one in against)
        act = "look its edge over" if look else "change it"
        reasons = " ".join(one.reason for one in against)
        sentence = f"The advice about {life.stylus} is to {act} before this side. {reasons} Start all the same?"
        return [Doubt(key=f"advice-{life.pk}-{key}:stylus", field="stylus", sentence=sentence)]
    return []


def _dropped_words(run: RunningSide) -> str:
    assert run.dropped_at is not None
    return f"It was not cut, as {run.dropped_by} said at {rules.clock_words(run.dropped_at)}: {run.dropped_why}."
