"""The day's bookings held against what the room has: blanks, stylus life, gas, and room in the chip trap.

A plan is plain data, for it is kept with the check that was signed on it. The sides are taken in the order of their
bookings, each after those before it, all with the fitted stylus that has most left in it.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import TypedDict

from django.urls import reverse

from shop import clock
from shop.cutting import queries
from shop.cutting.models import BookingSide, DiscSize, Speed
from shop.cutting.queries import DayNeeds, Outlook, day_needs, edge_words, fitted_lives, limits, outlooks
from shop.cutting.wording import minutes_words
from shop.duties import queries as meters
from shop.duties.models import Meter
from shop.room.queries import GasState, gas_state
from shop.room.wording import by_gauge
from shop.stock.models import BlankSize
from shop.stock.queries import BlankStock, blank_stock, lots_on_shelf
from shop.wording import per_cent

#: Key of the meter that counts the chip in the trap.
CHIP = "chip"


class Mark(TypedDict):
    """One level. share: 0 to 1, None where nothing can be drawn; words: the same in words; enough: None for unknown."""

    share: float | None
    words: str
    enough: bool | None


class UnderWay(TypedDict):
    """That a side runs, or was stopped and not judged: in words, and the path of its page."""

    words: str
    link: str


class PlannedSide(TypedDict):
    """A booked side and where each store stands once it is cut.

    under_way: None for one that was not begun. Plans that were kept before it was known have no such key.
    """

    wanted: int
    code: str
    title: str
    link: str
    label: str
    words: str
    late_from: str | None
    fits: bool
    under_way: UnderWay | None
    blank: Mark
    stylus: Mark
    gas: Mark
    chip: Mark


class Store(TypedDict):
    """What the whole day takes from one store.

    name: which; sum: what is wanted and what there is, in words; short: what to say of it where it is not enough.
    """

    name: str
    sum: str
    mark: Mark
    short: str
    link: str


class Plan(TypedDict):
    day: str
    sides: list[PlannedSide]
    stores: list[Store]
    cut: str
    gas_lasts_for: int | None
    has_spare: bool
    chip_full_at: int | None


def plan_of_day(day: date, now: datetime) -> Plan:
    """Hold what is still to be cut on `day`, earlier days' leftovers included, against the room as it is at `now`."""
    needs = day_needs(day)
    fitted = fitted_lives()
    outlook_of = outlooks(fitting.life for fitting in fitted)
    spoken = edge_words(fitted)
    best = max(
        fitted,
        key=lambda fitting: (
            fitting.life_id not in spoken,
            outlook_of[fitting.life_id].age_is_known,  # of another one knows only what it can do at most
            outlook_of[fitting.life_id].chance(needs.cut_s),
        ),
        default=None,
    )
    begun = queries.begun()
    blanks = _Blanks(blank_stock(day), begun, day)
    under_way = {one.wanted: UnderWay(words=one.words, link=one.link) for one in begun}
    stylus = _Stylus(
        outlook_of[best.life_id] if best else None,
        name=f"{best.life.stylus} in {best.lathe}" if best else "",
        link=best.life.stylus.get_absolute_url() if best else "",
        care_below=limits().care_below,
        edge=spoken.get(best.life_id, "") if best else "",
        others=len(fitted) - 1,
    )
    gas = _Gas(gas_state(now))
    chip = _Chip(meters.meter(CHIP))
    sides = [
        PlannedSide(
            wanted=one.wanted.pk,
            code=one.wanted.booking.code,
            title=one.wanted.booking.title,
            link=one.wanted.booking.get_absolute_url(),
            label=one.wanted.label,
            words=side_words(one.wanted),
            late_from=one.wanted.booking.cut_on.isoformat() if one.wanted.booking.cut_on < day else None,
            fits=one.plan.fits,
            under_way=under_way.get(one.wanted.pk),
            blank=blanks.after(one.wanted.blank_in, is_begun=one.wanted.pk in under_way),
            stylus=stylus.after(one.estimate.cut_s),
            gas=gas.after_a_side(),
            chip=chip.after(one.estimate.chip_mg),
        )
        for one in needs.sides
    ]
    return Plan(
        day=day.isoformat(),
        sides=sides,
        stores=_stores(needs, blanks, stylus, gas, chip),
        cut=minutes_words(needs.cut_s),
        gas_lasts_for=_first_short([side["gas"] for side in sides]),
        has_spare=gas.has_spare,
        chip_full_at=None if chip.is_full_now else _first_short([side["chip"] for side in sides]),
    )


def stores_until(day: date) -> list[Store]:
    """For cutting: what all that is to be cut by the end of `day` takes from each store but the blanks."""
    sizes = [f"{BlankSize(size).label} blanks" for size in BlankSize.values]
    return [store for store in plan_of_day(day, clock.now())["stores"] if store["name"] not in sizes]


def side_words(wanted: BookingSide) -> str:
    """A booked side on one line: "12 inch, 33⅓, 21:30"."""
    return f"{DiscSize(wanted.disc_in).label}, {Speed(wanted.speed).label}, {minutes_words(wanted.play_s)}"


def _first_short(marks: Sequence[Mark]) -> int | None:
    """How many sides come before the first that is not covered; None if all are, or nothing is known."""
    return next((place for place, mark in enumerate(marks) if mark["enough"] is False), None)


class _Blanks:
    """Blanks that may be used, by size; those of sides under way are on a lathe, and left for none of the others."""

    def __init__(self, stock: dict[int, BlankStock], begun: Iterable[queries.Begun], day: date) -> None:
        self.stock = stock
        self.taken: Counter[int] = Counter()
        usable = {lot.pk for lot in lots_on_shelf() if not lot.is_held and not lot.is_past_date(day)}
        self.on_lathe = Counter(one.blank_in for one in begun if one.lot in usable)

    def usable(self, size: int) -> int:
        return max(0, self.stock[size].usable - self.on_lathe[size]) if size in self.stock else 0

    def after(self, size: int, *, is_begun: bool) -> Mark:
        if is_begun:
            return Mark(share=None, words="on the lathe", enough=True)
        self.taken[size] += 1
        there = self.usable(size)
        left = there - self.taken[size]
        words = f"{left} left after it" if left > 0 else "takes the last one" if left == 0 else "none left"
        return Mark(share=max(0, left) / there if there else 0.0, words=words, enough=left >= 0)


class _Stylus:
    """The chance that the edge lasts through all sides so far. Under `care_below` (the shop's own) it is not enough,
    nor where something else speaks against the edge (`edge`): then that is said instead. others: how many are fitted
    besides.
    """

    def __init__(
        self, outlook: Outlook | None, *, name: str, link: str, care_below: float, edge: str, others: int
    ) -> None:
        self.outlook = outlook
        self.name, self.link, self.care_below, self.edge, self.others = name, link, care_below, edge, others
        self.cut_s = 0

    def after(self, cut_s: int) -> Mark:
        self.cut_s += cut_s
        return self.mark(self.cut_s, " to its end")

    def mark(self, cut_s: int, of_what: str = "") -> Mark:
        if self.outlook is None:
            return Mark(share=None, words="none fitted", enough=False)
        if self.edge:
            return Mark(share=None, words=self.edge, enough=False)
        chance = self.outlook.chance(cut_s)
        enough = chance >= self.care_below
        if not self.outlook.age_is_known:
            if enough:
                return Mark(share=None, words="age not known", enough=None)
            return Mark(share=None, words=f"at most {percent(chance)}{of_what}", enough=False)
        return Mark(share=chance, words=f"{'' if enough else 'only '}{percent(chance)}{of_what}", enough=enough)


class _Gas:
    def __init__(self, state: GasState | None) -> None:
        self.state = state
        self.sides = 0

    @property
    def has_spare(self) -> bool:
        return bool(self.state and self.state.spares)

    def after_a_side(self) -> Mark:
        self.sides += 1
        return self.mark(self.sides, "it")

    def mark(self, sides: int, after: str) -> Mark:
        if self.state is None:
            return Mark(share=None, words="no cylinder", enough=False)
        if self.state.read_at is None:
            return Mark(share=None, words="gauge not read", enough=None)
        used_g = sides * self.state.use.side_g
        share = max(0.0, self.state.share - used_g / 1000 / self.state.full_kg)
        enough = self.state.usable_g >= used_g
        return Mark(
            share=share, words=f"{percent(share)} left after {after}" if enough else "too little", enough=enough
        )


class _Chip:
    """The trap fills; it is full at the meter's limit for hold, or for care where that is the only one."""

    def __init__(self, meter: Meter | None) -> None:
        self.meter = meter
        self.limit = (meter.hold_at or meter.care_at) if meter else None
        self.added_mg = 0

    @property
    def is_full_now(self) -> bool:
        return bool(self.meter and self.limit and self.meter.value >= self.limit)

    def after(self, chip_mg: int) -> Mark:
        self.added_mg += chip_mg
        return self.mark(self.added_mg, "it")

    def mark(self, added_mg: int, after: str) -> Mark:
        if self.meter is None or self.limit is None:
            return Mark(share=None, words="no limit set", enough=None)
        share = (self.meter.value + added_mg) / self.limit
        return Mark(share=share, words=f"{percent(share)} full after {after}", enough=share < 1)


def _stores(needs: DayNeeds, blanks: _Blanks, stylus: _Stylus, gas: _Gas, chip: _Chip) -> list[Store]:
    """The day's sums, one line for each store; nothing if nothing is to be cut."""
    if not needs.sides:
        return []
    count = len(needs.sides)
    found = []
    for size in needs.blanks:
        wanted, there, on_lathe = blanks.taken[size], blanks.usable(size), blanks.on_lathe[size]
        share = max(0, there - wanted) / there if there else 0.0
        found.append(
            Store(
                name=f"{BlankSize(size).label} blanks",
                sum=f"{wanted} wanted, {there} usable" + (f", {on_lathe} on a lathe" if on_lathe else ""),
                mark=Mark(
                    share=share,
                    words=f"{there - wanted} left after today" if there >= wanted else f"{wanted - there} missing",
                    enough=there >= wanted,
                ),
                short="Not enough",
                link=reverse("stock:items"),
            )
        )
    found.append(
        Store(
            name=f"Stylus {stylus.name}".strip(),
            sum=_stylus_sum(stylus, needs.cut_s),
            mark=stylus.mark(needs.cut_s, " chance to finish"),
            short=_stylus_short(stylus),
            link=stylus.link,
        )
    )
    found.append(
        Store(
            name=f"Nitrogen, cylinder {gas.state.cylinder.mark}" if gas.state else "Nitrogen",
            sum=_gas_sum(gas.state, count),
            mark=gas.mark(count, "today"),
            short="Not enough" if gas.state else "Connect one",
            link=gas.state.cylinder.get_absolute_url() if gas.state else "",
        )
    )
    if chip.meter is not None:
        found.append(
            Store(
                name=chip.meter.name,
                sum=f"{chip.meter.shown(chip.meter.value)} in it, about {chip.meter.shown(needs.chip_mg)} to come",
                mark=chip.mark(needs.chip_mg, "today"),
                short="Empty it in between",
                link=chip.meter.get_absolute_url(),
            )
        )
    return found


def _stylus_sum(stylus: _Stylus, cut_s: int) -> str:
    wanted = f"{minutes_words(cut_s)} of cutting wanted"
    if stylus.outlook is None:
        return wanted
    which = "" if not stylus.others else ", the best of those in the heads"
    return f"{wanted}, {stylus.outlook.cut_words} cut so far{which}"


def _stylus_short(stylus: _Stylus) -> str:
    if stylus.outlook is None:
        return "Fit one"
    return "See to it first" if stylus.edge else f"Under the shop's {percent(stylus.care_below)}"


def _gas_sum(state: GasState | None, count: int) -> str:
    sides = f"{count} side{'' if count == 1 else 's'}"
    if state is None:
        return f"{sides} wanted, no cylinder connected"
    spare = "a full one stands ready" if state.spares else "no full one stands ready"
    if state.read_at is None:
        return f"{sides} wanted, its gauge was not read yet; {spare}"
    if state.sides_left is None:
        return f"{sides} wanted, no use a side is set; {spare}"
    return f"{sides} wanted, gas for about {state.sides_left} {by_gauge(state.read_at, state.sides_since)}; {spare}"


def percent(share: float) -> str:
    """A share in whole per cent; never 0 or 100 % unless it is, near enough, nothing or all."""
    whole = round(100 * share)
    if whole >= 100 and share < 0.9995:
        return f"over {per_cent(0.99)}"
    if whole <= 0 and share > 0.0005:
        return f"under {per_cent(0.01)}"
    return per_cent(share)
