"""What people do with bookings: enter one, change it, finish or cancel it, open it again."""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import F, IntegerField, QuerySet

from shop import clock
from shop.calc.layout import LEAST_BAND_S
from shop.cutting import plans, rules, wording
from shop.cutting.actions.plans import PAUSE_S
from shop.cutting.models import UNDER_WAY, Booking, BookingSide, DiscSize, RunningSide, Speed
from shop.cutting.queries.bookings import uncut_of
from shop.people.models import ENGINEERS, HANDS, Person
from shop.prepared import Given, prepared
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.stock.models import BlankSize

#: More sides than any one job has.
MOST_SIDES = 24


@dataclass(frozen=True)
class WantedTitle:
    """One title of a side, as typed."""

    play_s: int
    name: str = ""


@dataclass(frozen=True)
class WantedSide:
    """A side that a booking needs, as typed. blank_in: None for the size usually taken.

    play_s: seconds of the whole side; None for that of its titles, with the room's usual pause between two of them.
    """

    label: str
    play_s: int | None
    disc_in: int = DiscSize.TWELVE
    speed: str = Speed.LP
    blank_in: int | None = None
    width_um: float = 56.0
    land_um: float = 40.0
    level_note: str = ""
    titles: Sequence[WantedTitle] = ()


@action(roles=HANDS)
def add_booking(
    *,
    by: Person,
    code: str,
    title: str,
    cut_on: date,
    sides: Sequence[WantedSide],
    customer: str = "",
    note: str = "",
    sure: Collection[str] = (),
) -> Booking:
    """Enter a booking with the sides it needs.

    Refuses a code that is taken, no sides, a label twice, and figures no lathe cuts. Asks about a day gone by, and of
    titles that fall far short of their side, or leave no pause between them. A side that does not fit is kept, and is a
    concern until it does: the booking may still be talked over.
    """
    sentence = "There is a booking of that code."
    booking = Booking(
        code=not_taken(Booking, words(code, field="code", longest=30, needed=True), field="code", sentence=sentence),
        **_said(title, customer, cut_on, note),
    )
    checked = _checked(sides)
    ask_unless_sure([*_day_gone(cut_on), *_odd_pauses(checked)], sure)
    with one_of_its_name(sentence, field="code"):
        booking.save()
    BookingSide.objects.bulk_create([_row(booking, side) for side in checked])
    return booking


@action(roles=HANDS)
def change_booking(
    *,
    by: Person,
    booking: Booking,
    version: int,
    code: str,
    title: str,
    cut_on: date,
    sides: Sequence[WantedSide],
    customer: str = "",
    note: str = "",
    sure: Collection[str] = (),
) -> Booking:
    """Change a booking and the sides it needs, which are told apart by their labels. Asks as add_booking does, of the
    sides whose length or titles are not as they were.

    Refuses one that is finished or cancelled, and leaving out a side that was cut: Changed if `version` is stale.
    """
    held = still_as_read(booking, version)
    _still_open(held)
    sentence = "There is another booking of that code."
    code = words(code, field="code", longest=30, needed=True)
    held.code = not_taken(Booking, code, field="code", sentence=sentence, but=held)
    for field, value in _said(title, customer, cut_on, note).items():
        setattr(held, field, value)
    checked = _checked(sides)
    doubts = _day_gone(cut_on) if cut_on != booking.cut_on else []
    ask_unless_sure([*doubts, *_odd_pauses(checked, list(held.wanted.all()))], sure)
    held.version += 1
    with one_of_its_name(sentence, field="code"):
        held.save()
    _change_sides(held, checked)
    finish_if_cut(held)
    return held


@action(roles=HANDS)
def finish_booking(*, by: Person, booking: Booking, sure: Collection[str] = ()) -> Booking:
    """Close a booking by hand. Asks first if sides of it are uncut; refuses one that is finished or cancelled."""
    held = locked(booking)
    _still_open(held)
    _nothing_under_way(held)
    if labels := ", ".join(side.label for side in uncut_of(held)):
        sentence = f"Not cut yet: {labels}. Finish the booking without?"
        ask_unless_sure([Doubt(key=f"uncut:{labels}", field="", sentence=sentence)], sure)
    _set(held, finished_at=clock.now())
    return held


@action(roles=ENGINEERS)
def cancel_booking(*, by: Person, booking: Booking, note: str = "") -> Booking:
    """Cancel a booking: it takes no more blanks. What was cut of it stays on record. `note` is added to its own."""
    held = locked(booking)
    _still_open(held)
    _nothing_under_way(held)
    if note := words(note, field="note", longest=300):
        held.note = f"{held.note} Cancelled: {note}".strip()[:500]
        held.save(update_fields=["note"])
    _set(held, cancelled_at=clock.now())
    return held


@action(roles=HANDS)
def reopen_booking(*, by: Person, booking: Booking) -> Booking:
    """Open a finished or cancelled booking again. Refuses one whose sides are all cut, for that is finished."""
    held = locked(booking)
    if held.is_open:
        raise Refused(f"{held.code} is open already.")
    if not uncut_of(held):
        raise Refused(
            "Every side of it has a good cut: that is finished. Withdraw a side first, or enter another booking."
        )
    _set(held, finished_at=None, cancelled_at=None)
    return held


# For the other actions of cutting, inside their transaction -----------------------------------------------------------


def locked(booking: Booking) -> Booking:
    """The booking as it now stands, its row held until the transaction ends."""
    return _locked.get(booking=booking.pk)


@prepared
def _locked() -> QuerySet[Booking]:
    return Booking.objects.select_for_update(of=("self",)).filter(pk=Given("booking", IntegerField()))


def finish_if_cut(held: Booking, *, but: RunningSide | None = None) -> bool:
    """Finish an open booking when every side of it has a good cut, and of each that was started it was said what became
    of it; whether it did. but: the one of which that is being said."""
    if not held.is_open or uncut_of(held):
        return False
    under_way = RunningSide.objects.filter(UNDER_WAY, wanted__booking=held)
    if any(run != but for run in under_way):
        return False
    _set(held, finished_at=clock.now())
    return True


def reopen_if_uncut(held: Booking) -> bool:
    """Open a finished booking again when a side of it is uncut; whether it did."""
    if held.finished_at is None or not uncut_of(held):
        return False
    _set(held, finished_at=None)
    return True


def _set(held: Booking, **states: object) -> None:
    Booking.objects.filter(pk=held.pk).update(**states, version=F("version") + 1)
    held.refresh_from_db()


def _still_open(held: Booking) -> None:
    if held.finished_at is not None:
        raise Refused(f"Booking {held.code} was finished at {rules.clock_words(held.finished_at)}.")
    if held.cancelled_at is not None:
        raise Refused(f"Booking {held.code} was cancelled at {rules.clock_words(held.cancelled_at)}.")


def _nothing_under_way(held: Booking) -> None:
    under_way = BookingSide.objects.filter(booking=held, runs__side__isnull=True, runs__dropped_at__isnull=True)
    if side := under_way.filter(runs__isnull=False).first():
        raise Refused(f"Side {side.label} is under way. Say first what became of it.")


def _said(title: str, customer: str, cut_on: date, note: str) -> dict[str, object]:
    if not 1970 <= cut_on.year <= clock.today().year + 10:
        raise Refused("Look at the year again.", field="cut_on")
    return {
        "title": words(title, field="title", longest=120, needed=True),
        "customer": words(customer, field="customer", longest=120),
        "cut_on": cut_on,
        "note": words(note, field="note", longest=500),
    }


def _day_gone(cut_on: date) -> list[Doubt]:
    if cut_on >= clock.today():
        return []
    return [Doubt(key=f"gone:{cut_on}", field="cut_on", sentence="That day has gone by. Keep it all the same?")]


def _checked(sides: Sequence[WantedSide]) -> list[WantedSide]:
    if not sides:
        raise Refused("Give at least one side, with its length.", field="sides")
    if len(sides) > MOST_SIDES:
        raise Refused(f"A booking has at most {MOST_SIDES} sides: split the job.", field="sides")
    twice = [label for label, times in Counter(side.label.casefold() for side in sides).items() if times > 1]
    if twice:
        raise Refused(f"Side {twice[0].upper()} is there twice.", field="sides")
    return [_checked_side(side) for side in sides]


def _checked_side(side: WantedSide) -> WantedSide:
    label = words(side.label, field="sides", longest=4, needed=True)
    if side.disc_in not in DiscSize.values or side.speed not in Speed.values:
        raise Refused(f"Side {label}: choose a record size and a speed.", field="sides")
    if side.blank_in is not None and side.blank_in not in BlankSize.values:
        raise Refused(f"Side {label}: choose a blank size.", field="sides")
    blank_in = side.blank_in or plans.blank_for(side.disc_in)
    if blank_in < side.disc_in:
        raise Refused(
            f"Side {label}: a {side.disc_in} inch record does not fit a {blank_in} inch blank.", field="sides"
        )
    titles = _checked_titles(label, side.titles)
    play_s = side.play_s if side.play_s is not None else length_of(titles)
    if play_s < (sung := sum(title.play_s for title in titles)):
        raise Refused(
            f"Side {label}: its titles take {wording.minutes_words(sung)}, which is longer than the side.",
            field="sides",
        )
    for what, value, (low, high), unit in (
        ("length", play_s, plans.CUT_S, "seconds"),
        ("groove width", side.width_um, plans.WIDTH_UM, "µm"),
        ("land", side.land_um, plans.LAND_UM, "µm"),
    ):
        if not low <= value <= high:
            raise Refused(f"Side {label}: give a {what} from {low:g} to {high:g} {unit}.", field="sides")
    return replace(
        side,
        label=label,
        play_s=play_s,
        blank_in=blank_in,
        level_note=words(side.level_note, field="sides", longest=200),
        titles=titles,
    )


def _odd_pauses(sides: Sequence[WantedSide], kept: Sequence[BookingSide] = ()) -> list[Doubt]:
    """Where the lengths of a side's titles and its own leave pauses that nobody is likely to mean; not of `kept`."""
    as_kept = {(row.label.casefold(), row.play_s, tuple(title["play_s"] for title in row.titles)) for row in kept}
    found: list[Doubt] = []
    for place, side in enumerate(sides):
        lengths = tuple(title.play_s for title in side.titles)
        if not lengths or (side.label.casefold(), side.play_s, lengths) in as_kept:
            continue
        assert side.play_s is not None
        if why := _pauses_trouble(side.play_s, sum(lengths), len(lengths)):
            # Named by what was typed: other lengths are another question.
            key = f"pauses-{side.label.casefold()}-{side.play_s}-{sum(lengths)}-{len(lengths)}:sides"
            found.append(Doubt(key=key, field=f"sides.{place}.play_s", sentence=f"Side {side.label}: {why}"))
    return found


def _pauses_trouble(play_s: int, sung_s: int, titles: int) -> str:
    """What is odd about so many titles on a side of that length; "" if nothing is. Both bounds are our own: a pause
    longer than any that a room may set as its usual one, and one so short that it is no band."""
    left_s = play_s - sung_s
    whole, sung, left = (wording.minutes_words(seconds) for seconds in (play_s, sung_s, left_s))
    if titles == 1:
        if left_s <= PAUSE_S[1]:
            return ""
        return f"its title comes to {sung}; the side is {whole} long: {left} of it are nobody's. Keep it so?"
    # A second for the rounding of a length that was reckoned from the titles.
    if left_s > PAUSE_S[1] * (titles - 1) + 1:
        return f"its titles come to {sung}; the side is {whole} long: {left} of it are pauses. Keep it so?"
    if left_s < LEAST_BAND_S * (titles - 1) and length_of_pauses(titles):
        return (
            f"its titles come to {sung}; the side is {whole} long: no pause is left between them, so no band is. "
            "Keep it so?"
        )
    return ""


def length_of(titles: Sequence[WantedTitle]) -> int:
    """Seconds of a side of these titles, with the room's usual pause between two of them; 0 for none."""
    return round(sum(title.play_s for title in titles) + length_of_pauses(len(titles)))


def length_of_pauses(titles: int) -> float:
    """Seconds of the room's usual pauses between so many titles."""
    return plans.figures().pause_s * max(0, titles - 1)


def _checked_titles(label: str, titles: Sequence[WantedTitle]) -> list[WantedTitle]:
    if len(titles) > plans.MOST_TITLES:
        raise Refused(f"Side {label}: it has at most {plans.MOST_TITLES} titles.", field="sides")
    low, high = plans.CUT_S
    if wrong := next((title for title in titles if not low <= title.play_s <= high), None):
        raise Refused(f"Side {label}: {wrong.play_s} seconds is no length of a title.", field="sides")
    return [replace(title, name=words(title.name, field="sides", longest=80)) for title in titles]


def _row(booking: Booking, side: WantedSide) -> BookingSide:
    assert side.play_s is not None
    return BookingSide(
        booking=booking,
        label=side.label,
        disc_in=side.disc_in,
        blank_in=side.blank_in or plans.blank_for(side.disc_in),
        speed=side.speed,
        play_s=side.play_s,
        width_um=side.width_um,
        land_um=side.land_um,
        level_note=side.level_note,
        titles=[{"name": title.name, "play_s": title.play_s} for title in side.titles],
    )


def _change_sides(held: Booking, sides: Sequence[WantedSide]) -> None:
    kept = {row.label.casefold(): row for row in held.wanted.all()}
    wanted = {side.label.casefold(): side for side in sides}
    for label, row in kept.items():
        if label not in wanted:
            if row.cuts.exists():
                raise Refused(f"Side {row.label} was cut, so it stays on record in this booking.", field="sides")
            if row.runs.exists():
                raise Refused(f"Side {row.label} was started, so it stays on record in this booking.", field="sides")
            row.delete()
    for label, side in wanted.items():
        new = _row(held, side)
        new.pk = kept[label].pk if label in kept else None
        new.save()
