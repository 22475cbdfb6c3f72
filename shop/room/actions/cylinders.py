"""A cylinder's round, delivered, connected, empty, returned, and what is known of it."""

from collections.abc import Collection
from datetime import date, datetime
from decimal import Decimal

from django.db import IntegrityError
from django.db.models import F, Q

from shop import clock
from shop.calc.gas import read_stamp
from shop.people.authority import needs
from shop.people.fields import stamped_words
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, happened_at, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.room import queries
from shop.room.contents import contents
from shop.room.models import Cylinder, Gas, Reading
from shop.room.wording import said, when
from shop.wording import per_cent


@action(roles=HANDS)
def add_cylinder(
    *,
    by: Person,
    mark: str,
    water_volume_l: float,
    service_bar: float,
    fill_bar: float,
    fill_c: float = 15.0,
    gas: str = Gas.NITROGEN,
    owner: str = "",
    rent_month: Decimal | None = None,
    stamp: str = "",
    test_years: int | None = None,
    delivered_on: date | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Cylinder:
    """Take a full cylinder into the house. Pressures are gauge pressures at fill_c.

    gas: what the label says; stamp: the date of the last test as it is stamped, test_years: how long that holds.
    Refused: another gas than is reckoned with here, a mark that is in use, no water volume, a stamp that is no date, a
    delivery in the future. Asked about: a fill above the service pressure, a size no cylinder of this kind mostly has.
    """
    if gas not in Gas.values:
        raise Refused(
            "Only the label says what is in a cylinder, never its colour. Without one, or with another gas in it, "
            "leave it shut and give it back to the supplier; only nitrogen is reckoned with here.",
            field="gas",
        )
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
    known = _known(owner=owner, rent_month=rent_month, stamp=stamp, test_years=test_years, note=note)
    ask_unless_sure(_cylinder_doubts(water_volume_l, service_bar, fill_bar, by), sure)
    return Cylinder.objects.create(
        mark=mark,
        gas=gas,
        water_volume_l=water_volume_l,
        service_bar=service_bar,
        fill_bar=fill_bar,
        fill_c=fill_c,
        delivered_on=delivered_on,
        delivered_by=by,
        **known,
    )


def _known(
    *, owner: str, rent_month: Decimal | None, stamp: str, test_years: int | None, note: str
) -> dict[str, str | int | date | Decimal | None]:
    """What is written down of a cylinder besides its size and fill, as its columns."""
    tested_on = None
    if stamp.strip():
        try:
            read = read_stamp(stamp, clock.today())
        except ValueError as wrong:
            raise Refused(str(wrong), field="stamp") from wrong
        tested_on = read.month
        if test_years is None and read.has_star:
            test_years = 10  # what the star stands for where it is stamped (from memory: 49 CFR 180.209(b))
    if test_years is not None and tested_on is None:
        raise Refused("Give the month and year of the last test too.", field="stamp")
    if test_years is not None and not 1 <= test_years <= 30:
        raise Refused("Give the years that a test holds, between 1 and 30.", field="test_years")
    if rent_month is not None and not 0 <= rent_month <= 100_000:
        raise Refused("Give a rent that is not below nought.", field="rent_month")
    return {
        "owner": words(owner, field="owner", longest=80),
        "rent_month": rent_month,
        "tested_on": tested_on,
        "test_years": test_years,
        "note": note.strip(),
    }


@action(roles=HANDS)
def change_cylinder(
    *,
    by: Person,
    cylinder: Cylinder,
    version: int,
    owner: str = "",
    rent_month: Decimal | None = None,
    stamp: str = "",
    test_years: int | None = None,
    note: str = "",
) -> Cylinder:
    """Change what is written down of a cylinder. Changed if `version` is stale. Its size and fill stay as they came."""
    known = _known(owner=owner, rent_month=rent_month, stamp=stamp, test_years=test_years, note=note)
    done = Cylinder.objects.filter(pk=cylinder.pk, version=version).update(**known, version=F("version") + 1)
    if not done:
        raise Changed(CHANGED)
    return Cylinder.objects.get(pk=cylinder.pk)


def _cylinder_doubts(water_volume_l: float, service_bar: float, fill_bar: float, by: Person) -> list[Doubt]:
    """The bounds are our own judgement of cylinders that stand in a cutting room."""
    doubts = []
    if not 5 <= water_volume_l <= 80:
        doubts.append(
            Doubt(
                key=f"water_volume_l:unlikely:{water_volume_l:g}",
                field="water_volume_l",
                sentence=(
                    f"{stamped_words(water_volume_l, by)} of water is an unlikely size: most hold "
                    f"{stamped_words(10, by)} to {stamped_words(50, by)}. Is it the water volume, not that of the gas?"
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
        told = {
            "connected": f"{held.mark} is connected already.",
            "empty": f"{held.mark} is marked empty. Connect a full one.",
            "returned": f"{held.mark} was returned. Connect one that is here.",
        }
        raise Refused(told[held.state])
    if other := _fed_since(at):
        if other.state == "connected":
            raise Refused(f"Cylinder {other.mark} is connected. Mark it empty first, then connect {held.mark}.")
        raise Refused(f"Cylinder {other.mark} still fed the room then. Give a later time.", field="at")
    if clock.day_of(at) < held.delivered_on:
        raise Refused("It was not here then. Give a time after its delivery.", field="at")
    try:
        Cylinder.objects.filter(pk=held.pk).update(connected_at=at, connected_by=by)
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
    Cylinder.objects.filter(pk=held.pk).update(empty_at=at, empty_by=by)
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
    Cylinder.objects.filter(pk=held.pk).update(returned_on=on, returned_by=by)
    return Cylinder.objects.get(pk=held.pk)
