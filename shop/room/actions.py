"""What people do in the room: take and correct readings, change cylinders, set the shop's own limits."""

from collections.abc import Collection, Mapping
from datetime import date, datetime
from itertools import pairwise

from django.db import IntegrityError
from django.db.models import F, Q

from shop import clock
from shop.people.authority import needs
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, happened_at
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.room import queries
from shop.room.contents import contents
from shop.room.kinds import KINDS, LIMITED
from shop.room.models import LIMIT_ORDER, Cylinder, GasUse, Limit, LimitKind, Reading, ReadingKind
from shop.room.readings import doubts_about, impossible, take, take_all
from shop.room.wording import said, when
from shop.wording import per_cent

# Readings -------------------------------------------------------------------------------------------------------------


@action(roles=HANDS)
def take_readings(
    *,
    by: Person,
    values: Mapping[ReadingKind, float],
    at: datetime | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Reading:
    """Keep any number of readings of one moment, in stored units; see readings.take_all. Returns the first of them."""
    if not values:
        raise Refused("Type at least one reading.")
    taken = take_all(values=values, at=happened_at(at), by=by, sure=sure, note=note)
    return next(iter(taken.values()))


@action(roles=HANDS)
def correct_reading(*, by: Person, reading: Reading, value: float, reason: str, sure: Collection[str] = ()) -> Reading:
    """Put a reading right by a new one of the same moment that names it; the old one stays, and counts no more.

    Refused without a reason, for the same value, and for a reading that was corrected already.
    """
    kind = ReadingKind(reading.kind)
    if not reason.strip():
        raise Refused("Say what was wrong with it.", field="reason")
    if Reading.objects.filter(corrects=reading).exists():
        raise Refused("That reading was corrected already. Correct the one that took its place.")
    if value == reading.value:
        raise Refused("That is the value already kept.", field="value")
    if sentence := impossible(kind, value, by):
        raise Refused(sentence, field="value")
    ask_unless_sure(
        doubts_about(kind, value, at=reading.at, by=by, cylinder=reading.cylinder, leave_out=reading, field="value"),
        sure,
    )
    try:
        return take(
            kind=kind,
            value=value,
            at=reading.at,
            by=by,
            cylinder=reading.cylinder,
            corrects=reading,
            note=reason.strip(),
            field="value",
        )
    except IntegrityError as raced:
        raise Refused("That reading was corrected already. Correct the one that took its place.") from raced


# Cylinders ------------------------------------------------------------------------------------------------------------


@action(roles=HANDS)
def add_cylinder(
    *,
    by: Person,
    mark: str,
    water_volume_l: float,
    service_bar: float,
    fill_bar: float,
    fill_c: float = 15.0,
    delivered_on: date | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Cylinder:
    """Take a full cylinder into the house. Pressures are gauge pressures at fill_c.

    Refused: a mark that is in use, no water volume, a delivery in the future. Asked about: a fill above the service
    pressure, a size no cylinder of this kind mostly has.
    """
    mark = " ".join(mark.split())
    delivered_on = delivered_on or clock.today()
    if not mark:
        raise Refused("Give the mark or number that is on the cylinder.", field="mark")
    if Cylinder.objects.filter(mark__iexact=mark).exists():
        raise Refused(f"There is a cylinder {mark} already. Add what tells this one from it.", field="mark")
    if not water_volume_l > 0:
        raise Refused(
            "Without the water volume nothing can be reckoned. It is stamped on the shoulder of the cylinder, with the "
            "letters WC or V, in litres or in pounds or kilograms of water.",
            field="water_volume_l",
        )
    if not (service_bar > 0 and fill_bar > 0):
        raise Refused("Give a pressure above nought.", field="service_bar" if not service_bar > 0 else "fill_bar")
    if delivered_on > clock.today():
        raise Refused("That is in the future. Add the cylinder when it is here.", field="delivered_on")
    ask_unless_sure(_cylinder_doubts(water_volume_l, service_bar, fill_bar, by), sure)
    return Cylinder.objects.create(
        mark=mark,
        water_volume_l=water_volume_l,
        service_bar=service_bar,
        fill_bar=fill_bar,
        fill_c=fill_c,
        delivered_on=delivered_on,
        note=note.strip(),
    )


def _cylinder_doubts(water_volume_l: float, service_bar: float, fill_bar: float, by: Person) -> list[Doubt]:
    """The bounds are our own judgement of cylinders that stand in a cutting room."""
    doubts = []
    if not 5 <= water_volume_l <= 80:
        doubts.append(
            Doubt(
                key=f"water_volume_l:unlikely:{water_volume_l:g}",
                field="water_volume_l",
                sentence=(
                    f"{water_volume_l:g} litres of water is an unlikely size: most hold 10 to 50. Is it the water "
                    "volume, not that of the gas?"
                ),
            )
        )
    if not 50 <= service_bar <= 320:
        doubts.append(
            Doubt(
                key=f"service_bar:unlikely:{service_bar:g}",
                field="service_bar",
                sentence=(
                    f"{said('pressure', service_bar, by)} is an unlikely service pressure: most are made for "
                    f"{said('pressure', 137, by)} to {said('pressure', 300, by)}. Is the unit right?"
                ),
            )
        )
    if fill_bar > service_bar:
        doubts.append(
            Doubt(
                key=f"fill_bar:above-service:{fill_bar:g}",
                field="fill_bar",
                sentence=(
                    f"{said('pressure', fill_bar, by)} is above the service pressure of "
                    f"{said('pressure', service_bar, by)}. Look at the stamp and the label again; if both are so, ask "
                    "the supplier before it is used."
                ),
            )
        )
    return doubts


@action(roles=HANDS)
@needs("change-cylinder")
def connect_cylinder(*, by: Person, cylinder: Cylinder, at: datetime | None = None) -> Cylinder:
    """Say that a full cylinder now feeds the room.

    Refused while another is connected, for one that was used or returned, and for a moment at which another still fed
    the room.
    """
    at = happened_at(at)
    held = Cylinder.objects.select_for_update().get(pk=cylinder.pk)
    if held.state != "full":
        words = {
            "connected": f"{held.mark} is connected already.",
            "empty": f"{held.mark} is marked empty. Connect a full one.",
            "returned": f"{held.mark} was returned. Connect one that is here.",
        }
        raise Refused(words[held.state])
    if other := _fed_since(at):
        if other.state == "connected":
            raise Refused(f"Cylinder {other.mark} is connected. Mark it empty first, then connect {held.mark}.")
        raise Refused(f"Cylinder {other.mark} still fed the room then. Give a later time.", field="at")
    if clock.day_of(at) < held.delivered_on:
        raise Refused("It was not here then. Give a time after its delivery.", field="at")
    try:
        Cylinder.objects.filter(pk=held.pk).update(connected_at=at)
    except IntegrityError as raced:
        raise Refused("Another cylinder was connected just now. Look at the list again.") from raced
    return Cylinder.objects.get(pk=held.pk)


def _fed_since(at: datetime) -> Cylinder | None:
    """A cylinder that fed the room at a moment or after it."""
    fed = Cylinder.objects.filter(connected_at__isnull=False).filter(Q(empty_at__isnull=True) | Q(empty_at__gt=at))
    return fed.order_by("-connected_at").first()


@action(roles=HANDS)
def empty_cylinder(
    *, by: Person, cylinder: Cylinder, at: datetime | None = None, sure: Collection[str] = ()
) -> Cylinder:
    """Say that the connected cylinder is done with; it waits to be returned. Asked about while much is left in it."""
    at = happened_at(at)
    held = Cylinder.objects.select_for_update().get(pk=cylinder.pk)
    if held.state != "connected":
        raise Refused(f"{held.mark} is not connected, so it cannot have been emptied here.")
    if held.connected_at is not None and at < held.connected_at:
        raise Refused("It was not connected then. Give a later time.", field="at")
    last = queries.last_gauge(held)
    if last is not None and last.at > at:
        raise Refused(f"Its gauge was read {when(last)}. Give a later time.", field="at")
    ask_unless_sure(_not_empty_doubts(held, last, by), sure)
    Cylinder.objects.filter(pk=held.pk).update(empty_at=at)
    return Cylinder.objects.get(pk=held.pk)


def _not_empty_doubts(cylinder: Cylinder, last: Reading | None, by: Person) -> list[Doubt]:
    use = queries.gas_use()
    state = queries.gas_state(clock.now(), use=use)
    if state is None or state.cylinder.pk != cylinder.pk:
        return []
    left = contents(cylinder, state.gauge_bar, state.celsius, use)
    if state.gauge_bar < use.reserve_bar or left.sides_left == 0:
        return []
    read = "was not read since it came full."
    if last:
        stood = f"stood at {said('pressure', last.value, by)} {when(last)}"
        read = f"{stood}: about {per_cent(left.share)} of the gas is left."
    return [
        Doubt(
            key=f"at:not-empty:{state.gauge_bar:g}",
            field="at",
            sentence=f"Its gauge {read} Mark it empty all the same?",
        )
    ]


@action(roles=HANDS)
def return_cylinder(*, by: Person, cylinder: Cylinder, on: date | None = None, sure: Collection[str] = ()) -> Cylinder:
    """Say that a cylinder left the house. Refused while it is connected; asked about for one that is still full."""
    on = on or clock.today()
    if on > clock.today():
        raise Refused("That is in the future. Give the day on which it went.", field="on")
    held = Cylinder.objects.select_for_update().get(pk=cylinder.pk)
    if held.state == "returned":
        raise Refused(f"{held.mark} was returned already.")
    if held.state == "connected":
        raise Refused(f"{held.mark} is connected. Mark it empty first.")
    if on < held.delivered_on or (held.empty_at is not None and on < clock.day_of(held.empty_at)):
        raise Refused("It was still in use here then. Give a later day.", field="on")
    if held.state == "full":
        sentence = f"{held.mark} is full and was never connected. Return it all the same?"
        ask_unless_sure([Doubt(key="on:still-full", field="on", sentence=sentence)], sure)
    Cylinder.objects.filter(pk=held.pk).update(returned_on=on)
    return Cylinder.objects.get(pk=held.pk)


# The shop's own figures -----------------------------------------------------------------------------------------------


@action(roles=ENGINEERS)
def change_limit(
    *,
    by: Person,
    kind: LimitKind,
    version: int,
    hold_below: float | None = None,
    care_below: float | None = None,
    care_above: float | None = None,
    hold_above: float | None = None,
    what_to_do: str = "",
) -> Limit:
    """Set the shop's own limits for a kind, in its stored unit; None for no limit.

    version: that of the limits the person saw, 0 where none were set; Changed if somebody saved others in between.
    Refused: limits out of their order, or beyond what such a reading can be.
    """
    about = LIMITED[kind]
    given = dict(zip(LIMIT_ORDER, (hold_below, care_below, care_above, hold_above), strict=True))
    for field, value in given.items():
        if value is not None and not about.possible[0] <= value <= about.possible[1]:
            low, high = (said(about.quantity, edge, by) for edge in about.possible)
            raise Refused(f"{about.name} is between {low} and {high}.", field=field)
    set_ones = [(field, value) for field, value in given.items() if value is not None]
    for (_, lower), (field, higher) in pairwise(set_ones):
        if higher < lower:
            raise Refused("The limits must rise: hold below, care below, care above, hold above.", field=field)
    values = {**given, "what_to_do": what_to_do.strip()}
    if version == 0:
        limit, fresh = Limit.objects.get_or_create(kind=kind, defaults=values)
        done = fresh
    else:
        done = bool(Limit.objects.filter(kind=kind, version=version).update(**values, version=F("version") + 1))
        limit = Limit.objects.filter(kind=kind).first() or Limit(kind=kind)
    if not done:
        raise Changed(CHANGED)
    return limit


@action(roles=ENGINEERS)
def change_gas_use(*, by: Person, version: int, side_g: float, reserve_bar: float, low_share: float) -> GasUse:
    """Set the shop's own figures for gas: grams a side, the reserve, the share left at which a spare must stand ready.

    version: as in change_limit.
    """
    if not 0 <= side_g <= 5000:
        raise Refused("Give the grams of nitrogen that one side takes, between 0 and 5000.", field="side_g")
    edge = KINDS[ReadingKind.NITROGEN_BAR].possible[1]
    if not 0 <= reserve_bar <= edge:
        raise Refused(f"Give a gauge pressure up to {said('pressure', edge, by)}.", field="reserve_bar")
    if not 0 <= low_share <= 1:
        raise Refused("Give a share between 0 and 100\u00a0%.", field="low_share")
    values = {"side_g": side_g, "reserve_bar": reserve_bar, "low_share": low_share}
    if version == 0:
        use, done = GasUse.objects.get_or_create(pk=1, defaults=values)
    else:
        done = bool(GasUse.objects.filter(pk=1, version=version).update(**values, version=F("version") + 1))
        use = queries.gas_use()
    if not done:
        raise Changed(CHANGED)
    return use
