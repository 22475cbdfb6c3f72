"""What of cutting can be carried away: bookings with their sides, sides, styli with their lives, what sides cost."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Prefetch, QuerySet

from shop import clock
from shop.alongside import one_row
from shop.calc import units
from shop.carrying.lists import Export, Lines
from shop.cutting import plans, queries
from shop.cutting.filters import CostFilter, SideFilter, booking_state
from shop.cutting.models import Booking, BookingSide, Life, Master, NoiseLevel, PlanFigures, Side, Stylus
from shop.cutting.queries import Traced, is_withdrawn
from shop.cutting.queries.bookings import good_cut
from shop.cutting.traced import booking_state as state_words
from shop.cutting.wording import minutes_words
from shop.people.models import ENGINEERS
from shop.people.queries import the_room

# Bookings -------------------------------------------------------------------------------------------------------------


def _bookings_asked(query: Mapping[str, Any]) -> QuerySet[Booking]:
    wanted = BookingSide.objects.annotate(is_cut=good_cut(), figures=one_row(PlanFigures)).order_by("label", "id")
    return queries.bookings(booking_state(query)).prefetch_related(Prefetch("wanted", wanted))


def _bookings(batch: list[Booking]) -> Lines:
    """A row for each side of a booking; one for a booking without."""
    for booking in batch:
        head = booking.code, booking.title, booking.customer, booking.cut_on, state_words(booking)
        sides: list[Any] = list(booking.wanted.all())
        for side in sides:
            yield (
                *head,
                side.label,
                side.disc_in,
                side.get_speed_display(),
                minutes_words(side.play_s),
                side.blank_in,
                side.is_cut,
                booking.note,
                *_plan(side),
            )
        if not sides:
            yield (*head, "", None, "", "", None, None, booking.note, *[None] * 9)


def _plan(side: BookingSide) -> Sequence[object]:
    """How a booked side is to be cut, and whether it fits."""
    laid, plan = plans.layout_of(side), plans.plan_of(side)
    titles = "; ".join(f"{minutes_words(title['play_s'])} {title['name']}".strip() for title in side.titles)
    return (
        titles,
        side.level_note,
        side.width_um,
        side.land_um,
        round(units.lines_from_pitch_um(laid.plan.pitch_um)),
        round(laid.last_groove_mm, 1),
        round(laid.plan.inner_speed_mm_s),
        plan.fits,
        round(plan.spare_mm - plan.short_by_mm, 1),
    )


# Sides ----------------------------------------------------------------------------------------------------------------

_SIDE = (
    "Side", "Cut", "Booking", "Booked side", "Outcome", "Rejected for", "Withdrawn", "Withdrawn because", "Run-out",
    "Record size, in", "Speed", "Length", "Lot", "Item", "Supplier", "Lot came in", "Lot made", "Lot usable through",
    "Stylus", "Life", "Stylus lot", "Lathe", "Cut by", "Logged by", "Overruled because", "Note",
)  # fmt: skip


def _with_sources(sides: QuerySet[Side]) -> QuerySet[Side]:
    return sides.select_related("lot__supplier", "life__stylus__lot")


def _sides_traced(query: Mapping[str, Any]) -> QuerySet[Side]:
    """Of the trace that ?kind= and ?pk= name, withdrawn ones too; none if they name nothing."""
    kind, pk = query.get("kind", ""), query.get("pk", "")
    known = kind in Traced.values and pk.isascii() and pk.isdigit() and len(pk) < 18
    found = queries.trace(Traced(kind), int(pk)) if known else None
    return _with_sources(found.sides if found is not None else Side.objects.none())


def _sides(batch: list[Side]) -> Lines:
    return map(_side, batch)


def _side(side: Side) -> Sequence[object]:
    booking = side.wanted.booking if side.wanted else None
    gone = side.withdrawal if is_withdrawn(side) else None
    return (
        side.pk,
        side.at,
        booking.code if booking else "",
        side.wanted.label if side.wanted else "",
        side.get_outcome_display(),
        str(side.reject_reason or ""),
        gone.at if gone else None,
        gone.reason if gone else "",
        side.cut_text,
        side.disc_in,
        side.get_speed_display(),
        minutes_words(side.cut_s),
        side.lot.code,
        side.lot.item.name,
        str(side.lot.supplier or ""),
        side.lot.received_on,
        side.lot.made_on,
        side.lot.last_day,
        side.life.stylus.mark,
        side.life.number,
        side.life.stylus.lot.code if side.life.stylus.lot else "",
        side.lathe.name,
        side.cut_by.name,
        side.by.name,
        side.overruled,
        side.note,
    )


# Styli ----------------------------------------------------------------------------------------------------------------


def _styli_asked(query: Mapping[str, Any]) -> QuerySet[Stylus]:
    """As the page: those in use, or with ?state=retired the retired; with ?state=all both."""
    found = queries.styli_of_any_state()
    state = query.get("state", "")
    return found if state == "all" else found.filter(retired_at__isnull=state != "retired")


def _styli(batch: list[Stylus]) -> Lines:
    """A row for each life of a stylus; one for a stylus that was never used."""
    for stylus in batch:
        head = (
            stylus.mark,
            stylus.kind.name,
            queries.state_of(stylus).place,
            stylus.lot.code if stylus.lot else "",
            stylus.received_on,
            stylus.retired_at,
            stylus.get_retired_why_display(),
            stylus.note,
            stylus.radius_um,
            stylus.tip_angle_deg,
            str(stylus.came_from or ""),
        )
        lives = list(stylus.lives.all())
        for life in lives:
            yield (
                *head,
                life.number,
                life.began_at,
                life.ended_at,
                life.get_end_reason_display(),
                life.end_note,
                _before(life),
                round(life.cut_s / 3600, 4),
                round(life.metres, 1),
                life.sides,
                life.cost,
            )
        if not lives:
            unused = queries.state_of(stylus).next_life
            yield (*head, *(None,) * 5, _before(unused), *(None,) * 3, stylus.cost)


def _before(life: Life) -> object:
    return "not known" if life.before_s is None else round(life.before_s / 3600, 4)


# Noise ----------------------------------------------------------------------------------------------------------------


def _levels_asked(query: Mapping[str, Any]) -> QuerySet[NoiseLevel]:
    return NoiseLevel.objects.select_related("life__stylus", "side__wanted__booking", "by", "struck_by")


def _levels(batch: list[NoiseLevel]) -> Lines:
    for level in batch:
        yield (
            level.life.stylus.mark,
            level.life.number,
            level.at,
            level.level_db,
            str(level.side.wanted or level.side_id) if level.side else "",
            level.by.name,
            level.note,
            level.struck_at,
            level.struck_why,
        )


# Masters --------------------------------------------------------------------------------------------------------------


def _masters_asked(query: Mapping[str, Any]) -> QuerySet[Master]:
    return Master.objects.select_related(
        "side__wanted__booking", "side__lot__supplier", "side__life__stylus", "parcel", "kept_by"
    )


def _masters(batch: list[Master]) -> Lines:
    for master in batch:
        side, parcel = master.side, master.parcel
        yield (
            side.pk,
            side.at,
            str(side.wanted or ""),
            side.lot.code,
            str(side.lot.supplier or ""),
            side.life.stylus.mark,
            side.life.number,
            parcel.pk if parcel else None,
            parcel.sent_at if parcel else None,
            parcel.sent_to if parcel else "",
            parcel.sent_with if parcel else "",
            parcel.arrived_at if parcel else None,
            master.get_report_display(),
            master.wrong,
            master.reported_at,
            master.kept_at,
            master.kept_why,
        )


# What sides cost ------------------------------------------------------------------------------------------------------


def _costed(query: Mapping[str, Any]) -> QuerySet[Side]:
    """As the pages: the sides of some days; with ?booking= those of one booking, whenever they were cut."""
    pk = query.get("booking", "")
    if pk.isascii() and pk.isdigit() and len(pk) < 18:
        return queries.costed_sides().filter(wanted__booking=int(pk))
    since, until = CostFilter(query, queryset=Side.objects.all()).span(clock.today())
    start, end = clock.day_bounds(since)[0], clock.day_bounds(until)[1]
    return queries.costed_sides().filter(at__gte=start, at__lt=end)


def _costs(batch: list[Side]) -> Lines:
    currency = the_room().currency
    for cut in queries.costs(batch, queries.cost_figures()).cuts:
        side, cost = cut.side, cut.cost
        parts = {"blank": cost.blanks, "stylus": cost.stylus, "gas": cost.gas, "care": cost.care}
        yield (
            side.pk,
            side.at,
            side.wanted.booking.code if side.wanted else "",
            side.wanted.label if side.wanted else "",
            side.get_outcome_display(),
            side.lot.code,
            side.life.stylus.mark,
            *(None if part in cut.missing else round(value, 4) for part, value in parts.items()),
            round(cost.total, 4),
            currency,
        )


EXPORTS = (
    Export(
        "bookings",
        "Bookings",
        (
            "Booking", "Title", "For whom", "Day", "State", "Side", "Record size, in", "Speed", "Length",
            "Blank size, in", "Cut", "Note", "Titles", "Loudest", "Groove, µm", "Land, µm", "Lines per inch",
            "Last groove, mm", "Groove speed there, mm/s", "Fits", "To spare, mm of radius",
        ),
        _bookings_asked,
        ("cut_on", "id"),
        _bookings,
        whole="state=all",
    ),
    Export(
        "sides",
        "Sides cut",
        _SIDE,
        lambda query: _with_sources(SideFilter(query, queryset=queries.sides()).qs),
        ("at", "id"),
        _sides,
    ),
    Export("trace", "Trace", _SIDE, _sides_traced, ("at", "id"), _sides, whole=None),
    Export(
        "styli",
        "Styli",
        (
            "Stylus", "Kind", "Where", "From lot", "Came in", "Retired", "Retired because", "Note", "Tip radius, µm",
            "Tip angle, °", "From", "Life", "Began",
            "Ended", "Ended because", "About its end", "Hours cut before it came", "Hours cut here",
            "Metres of groove", "Sides", "Edge cost",
        ),
        _styli_asked,
        ("mark",),
        _styli,
        whole="state=all",
        guarded={"Edge cost": ENGINEERS},
    ),
    Export(
        "noise-levels",
        "Silent-groove levels",
        (
            "Stylus", "Life", "When", "Level, dB", "On side", "By", "Note", "Struck out", "Struck out because",
        ),
        _levels_asked,
        ("at", "id"),
        _levels,
    ),
    Export(
        "masters",
        "Masters and plating",
        (
            "Side", "Cut", "Booked side", "Lot", "Supplier", "Stylus", "Life", "Parcel", "Sent", "To", "With",
            "Arrived", "Reported", "What was wrong", "Reported at", "Kept back", "Kept back because",
        ),
        _masters_asked,
        ("id",),
        _masters,
    ),
    Export(
        "costs",
        "What sides cost",
        (
            "Side", "Cut", "Booking", "Booked side", "Outcome", "Lot", "Stylus", "Blank", "Stylus’s share", "Gas",
            "Care", "In all", "Currency",
        ),
        _costed,
        ("at", "id"),
        _costs,
        whole="since=1970-01-01",
        roles=ENGINEERS,
    ),
)  # fmt: skip
