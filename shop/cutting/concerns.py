"""What cutting worries about: styli, their edges, blanks for what is booked, sides that don't fit, bookings gone by."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.urls import reverse

from shop import clock
from shop.calc.groove import SidePlan
from shop.concern import Concern, Grade
from shop.cutting import queries, unfinished
from shop.cutting.models import BookingSide, CuttingLimits, Fitting
from shop.cutting.plans import plan_of
from shop.cutting.rules import clock_words
from shop.cutting.wording import chance_words, fit_words, level_words, minutes_words
from shop.people.fields import measured
from shop.people.queries import the_room
from shop.recall import looking
from shop.stock.models import Lot
from shop.stock.queries import lots_on_shelf
from shop.wording import in_full


def concerns(now: datetime) -> list[Concern]:
    """Everything cutting is worried about at `now`: six queries, however many bookings and styli there are."""
    with looking():  # several of them look at what is in the heads
        today = clock.day_of(now)
        limits = queries.limits()
        uncut = queries.uncut(today + timedelta(days=limits.days_ahead))
        due = [side for side in uncut if side.booking.cut_on <= today]
        fitted = queries.fitted_lives()
        return [
            *_empty_heads(fitted, due),
            *_edges(),
            *unfinished.concerns(now),
            *_lives(fitted, due, limits, today),
            *_blanks(uncut, today),
            *_not_fitting(uncut, today),
            *_gone_by(due, today),
        ]


def _empty_heads(fitted: list[Fitting], due: list[BookingSide]) -> Iterator[Concern]:
    """A lathe without a stylus: hold if sides are to be cut today and no lathe has one, care else."""
    grade = Grade.HOLD if due and not fitted else Grade.CARE
    for lathe in queries.empty_heads():
        waiting = (
            f"{_count(len(due), 'side is', 'sides are')} to be cut today." if due else "Nothing is booked for today."
        )
        yield Concern(
            key=f"cutting:no-stylus:{lathe.pk}",
            grade=grade,
            subject=str(lathe),
            headline=f"No stylus is in the head of {lathe}",
            reason=waiting,
            what_to_do="Fit a stylus, or record the one that is in it.",
            link=reverse("cutting:styli"),
        )


def _edges() -> Iterator[Concern]:
    """A stylus in a head that a side was rejected for, until its edge was looked over: hold if it is said to be
    chipped, care else. On whichever lathe: a chipped edge comes off, or is seen to be whole, before any head goes down.
    """
    for doubt in queries.doubts_in_heads():
        stylus = doubt.life.stylus
        yield Concern(
            key=f"cutting:edge:{doubt.life.pk}",
            grade=Grade.HOLD if doubt.chipped else Grade.CARE,
            subject=str(stylus),
            headline=f"The edge of {stylus} {'may be chipped' if doubt.chipped else 'is in doubt'}",
            reason=(
                f"A side cut at {clock_words(doubt.at)} was rejected: {doubt.reason}. Nobody has looked the edge over "
                "since."
            ),
            what_to_do="Look its edge over, and say so if it is whole. Else take it off.",
            link=stylus.get_absolute_url(),
        )


def _lives(fitted: list[Fitting], due: list[BookingSide], limits: CuttingLimits, today: date) -> Iterator[Concern]:
    """Each fitted stylus against today's sides, as if it had to cut them all; and against the hours expected.

    One whose silent groove is noisier than the shop's limit, or grew so all at once, calls for care. What an engineer
    overruled of it today is a note, with who and why, until it gets graver than it was then.
    """
    outlooks = queries.outlooks([fitting.life for fitting in fitted])
    overruled = queries.overruled_today()
    total_s = sum(side.play_s for side in due)
    chances = {fitting.pk: outlooks[fitting.life_id].chance(total_s) for fitting in fitted} if due else {}
    # What one of unknown age can do at most is no reason to think that another need not be fitted.
    sound = [fitting.pk for fitting in fitted if outlooks[fitting.life_id].age_is_known]
    best = max((chances[pk] for pk in sound or chances), default=1.0) if due else 1.0
    for fitting in fitted:
        stylus, outlook = fitting.life.stylus, outlooks[fitting.life_id]
        chance = chances.get(fitting.pk, 1.0)
        covered = overruled.get(fitting.life_id, queries.Covered())
        yield from _noise(fitting, limits, due, covered)
        if chance < limits.care_below:
            # With a second lathe whose stylus would do, one that would not is no reason to hold the day.
            grade = Grade.HOLD if chance < limits.hold_below and best < limits.hold_below else Grade.CARE
            advice = queries.advice(fitting.life, outlook, due, limits, today=today)
            word = covered.word_on(queries.Matter.LIFE, queries.life_grade(chance, limits))
            said = f"{outlook.at_most}{chance_words(chance)}"
            yield Concern(
                key=f"cutting:life:{fitting.life_id}",
                grade=Grade.NOTE if word else grade,
                subject=str(stylus),
                headline=f"{stylus} may not finish today's sides: the chance that it does is {said}",
                reason=(
                    f"It has cut {outlook.cut_words}; today's {_count(len(due), 'side takes', 'sides take')} "
                    f"{minutes_words(total_s)}. {outlook.basis} The shop's own limits: care below "
                    f"{chance_words(limits.care_below)}, hold below {chance_words(limits.hold_below)}. This is advice."
                    f"{_overruled(word)}"
                ),
                what_to_do=(
                    f"{advice.sentence} Look at the tip, and listen to a silent groove; fit a fresh stylus if in doubt."
                ),
                link=stylus.get_absolute_url(),
            )
        elif outlook.hours > stylus.kind.expected_h:
            yield Concern(
                key=f"cutting:hours:{fitting.life_id}",
                grade=Grade.NOTE,
                subject=str(stylus),
                headline=f"{stylus} is past the hours expected of it",
                reason=(
                    f"It has cut {outlook.cut_words}; the shop expects {stylus.kind.expected_h:g} h of a fresh "
                    f"{stylus.kind} ({stylus.kind.get_sureness_display()})."
                ),
                what_to_do="Look at the tip before the next side.",
                link=stylus.get_absolute_url(),
            )


def _noise(
    fitting: Fitting, limits: CuttingLimits, due: list[BookingSide], covered: queries.Covered
) -> Iterator[Concern]:
    """What the silent-groove levels of a fitted life say: over the limit or a jump, care; likely to cross it in what is
    to be cut today, a note."""
    life, stylus = fitting.life, fitting.life.stylus
    limit = "" if limits.noise_db is None else f" The shop's own limit is {level_words(limits.noise_db)}."
    soonest_s = life.noise_soonest_s
    if life.noise_over:
        headline = f"The silent groove of {stylus} is noisier than the shop's limit"
        reason, act = f"Its last level lay above it.{limit}", "Fit a fresh stylus, or listen again."
        matter, grade = queries.Matter.NOISE, Grade.CARE
    elif life.noise_jumped:
        headline = f"The silent groove of {stylus} grew noisier all at once"
        reason = "Its last levels lie further above its own trend than chance would have them."
        act = "Look its edge over, and say so if it is whole. Else take it off."
        matter, grade = queries.Matter.JUMP, Grade.CARE
    elif soonest_s is not None and due and soonest_s - life.cut_s < sum(side.play_s for side in due):
        headline = f"The silent groove of {stylus} may reach the shop's noise limit today"
        left = minutes_words(max(0, soonest_s - life.cut_s))
        reason = f"By its trend one groove in ten may lie above it after {left} more of cutting.{limit}"
        act = "Listen to a silent groove before each side."
        matter, grade = queries.Matter.TREND, Grade.NOTE
    else:
        return
    word = covered.word_on(matter, grade)
    yield Concern(
        key=f"cutting:noise:{life.pk}",
        grade=Grade.NOTE if word else grade,
        subject=str(stylus),
        headline=headline,
        reason=f"{reason}{_overruled(word)}",
        what_to_do=act,
        link=stylus.get_absolute_url(),
    )


def _overruled(word: queries.Word | None) -> str:
    return f" {word.by} overruled the advice today: {word.why}" if word else ""


@dataclass
class _Shelf:
    """The usable lots of one size, first expired first, and how much of each is still unclaimed."""

    lots: list[tuple[date | None, int]] = field(default_factory=list)

    @property
    def total(self) -> int:
        return sum(left for _, left in self.lots)

    def take(self, day: date) -> bool:
        """Take one that may still be used on `day`; whether there was one."""
        for place, (last_day, left) in enumerate(self.lots):
            if left and (last_day is None or last_day >= day):
                self.lots[place] = (last_day, left - 1)
                return True
        return False


def _blanks(uncut: list[BookingSide], today: date) -> Iterator[Concern]:
    """Booked sides against the blanks that may be used on their day, the first expired taken first.

    Hold when today's sides lack a blank. Care when there are enough now, but too few will be in date on the day: that
    there are too few at all is stock's worry.
    """
    if not uncut:
        return
    lots = lots_on_shelf()
    shelves = _shelves(lots, today)
    for size in sorted({side.blank_in for side in uncut}, reverse=True):
        days = [max(side.booking.cut_on, today) for side in uncut if side.blank_in == size]
        shelf = shelves.get(size, _Shelf())
        enough = shelf.total >= len(days)
        lacking = Counter(day for day in days if not shelf.take(day))
        if lacking[today]:
            held = [lot for lot in lots if lot.item.blank_in == size and lot.is_held and not lot.is_past_date(today)]
            yield _short_today(size, lacking[today], days.count(today), held)
        elif lacking and enough:
            yield _past_by_then(size, lacking)


def _short_today(size: int, missing: int, needed: int, held: list[Lot]) -> Concern:
    """held: the lots of that size on hold that are in date; the largest is where to look first."""
    largest = max(held, key=lambda lot: lot.on_hand, default=None)
    on_hold = ", ".join(f"{lot.on_hand} in lot {lot.code}" for lot in held)
    return Concern(
        key=f"cutting:blanks:{size}",
        grade=Grade.HOLD,
        subject=f"{size} inch blanks",
        headline=f"{_count(missing, 'blank', 'blanks')} of {size} inch missing for today's sides",
        reason=(
            f"{_count(needed, 'side is', 'sides are')} to be cut on {size} inch blanks today, and "
            f"{_count(needed - missing, 'blank', 'blanks')} may be used. "
            f"{f'On hold: {on_hold}. ' if held else ''}Nothing is counted for rejects."
        ),
        what_to_do=(
            f"Look whether lot {largest.code} can be released, or move a side to another day."
            if largest
            else "Get blanks in, or move a side to another day."
        ),
        link=largest.get_absolute_url() if largest else reverse("stock:items"),
    )


def _past_by_then(size: int, lacking: Counter[date]) -> Concern:
    first, missing = min(lacking), lacking.total()
    return Concern(
        key=f"cutting:blanks:{size}",
        grade=Grade.CARE,
        subject=f"{size} inch blanks",
        headline=f"{_count(missing, 'booked side', 'booked sides')} will have no {size} inch blank in date",
        reason=(
            f"There are enough now, but by {in_full(first)} too many of them are past their date. Nothing is counted "
            "for rejects."
        ),
        what_to_do="Get fresh blanks in before, or cut that booking earlier.",
        link=reverse("stock:items"),
        by=clock.day_bounds(first)[0],
    )


def _shelves(lots: Iterable[Lot], today: date) -> dict[int, _Shelf]:
    found: dict[int, _Shelf] = {}
    for lot in lots:
        if lot.item.blank_in is not None and not lot.is_held and not lot.is_past_date(today):
            found.setdefault(lot.item.blank_in, _Shelf()).lots.append((lot.last_day, lot.on_hand))
    return found


def _not_fitting(uncut: list[BookingSide], today: date) -> Iterator[Concern]:
    """One for each booking with sides too long for their disc: hold on its day, until then a note in good time."""
    room = the_room()
    too_long: dict[int, list[tuple[BookingSide, SidePlan]]] = defaultdict(list)
    for side in uncut:
        if not (plan := plan_of(side)).fits:
            too_long[side.booking_id].append((side, plan))
    for found in too_long.values():
        booking = found[0][0].booking
        is_due = booking.cut_on <= today
        labels = " and ".join(side.label for side, _ in found)
        worst_s = max(plan.short_by_minutes for _, plan in found) * 60
        yield Concern(
            key=f"cutting:fit:{booking.pk}",
            grade=Grade.HOLD if is_due else Grade.NOTE,
            subject=f"Booking {booking.code}",
            headline=(
                f"Sides {labels} do not fit: up to {minutes_words(worst_s)} too long"
                if len(found) > 1
                else f"Side {labels} does not fit: {minutes_words(worst_s)} too long"
            ),
            reason=" ".join(
                f"{side.label}: {fit_words(plan, play_s=side.play_s, disc_in=side.disc_in, person=room)}"
                for side, plan in found
            ),
            what_to_do="A narrower groove, less land, another speed or size: settle it before a blank is spent.",
            link=booking.get_absolute_url(),
            by=None if is_due else clock.day_bounds(booking.cut_on)[0],
            quantities=tuple(measured("length", plan.short_by_mm, room) for _, plan in found),
        )


def _gone_by(due: list[BookingSide], today: date) -> Iterator[Concern]:
    """Bookings of earlier days with uncut sides."""
    left: dict[int, list[BookingSide]] = defaultdict(list)
    for side in due:
        if side.booking.cut_on < today:
            left[side.booking_id].append(side)
    for sides in left.values():
        booking = sides[0].booking
        yield Concern(
            key=f"cutting:gone-by:{booking.pk}",
            grade=Grade.NOTE,
            subject=f"Booking {booking.code}",
            headline=f"{booking.title} was to be cut on {in_full(booking.cut_on)}",
            reason=f"Not cut yet: {', '.join(side.label for side in sides)}.",
            what_to_do="Cut it, give it another day, or finish or cancel it.",
            link=booking.get_absolute_url(),
        )


def _count(number: int, one: str, more: str) -> str:
    return f"{number} {one if number == 1 else more}"
