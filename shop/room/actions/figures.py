"""The shop's own figures: limits of readings, and gas."""

from collections.abc import Collection
from itertools import pairwise

from django.db.models import F

from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import CHANGED
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.room import queries
from shop.room.kinds import LIMITED
from shop.room.models import LIMIT_ORDER, GasUse, Limit, LimitKind
from shop.room.wording import said, unit_slip

#: The highest service pressure that cylinders are mostly made for, bar; it counts while no full one is here.
_MADE_FOR_BAR = 300.0
#: A reserve above so much of the service pressure is asked about: our own choice.
_MUCH_KEPT = 0.5


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
def change_gas_use(
    *,
    by: Person,
    version: int,
    side_g: float,
    reserve_bar: float,
    low_share: float,
    lead_days: int = 7,
    sure: Collection[str] = (),
) -> GasUse:
    """Set the shop's own figures for gas: grams a side, the reserve, the share left at which a spare must stand
    ready, the days from an order until it is here.

    version: as in change_limit. Refused: a reserve that a cylinder here does not reach when full; asked about: one
    above half of its service pressure.
    """
    if not 0 <= side_g <= 5000:
        raise Refused("Give the grams of nitrogen that one side takes, between 0 and 5000.", field="side_g")
    doubts = _reserve_doubts(reserve_bar, by)
    if not 0 <= low_share <= 1:
        raise Refused("Give a share between 0 and 100\u00a0%.", field="low_share")
    if not 0 <= lead_days <= 365:
        raise Refused("Give the days from an order until it is here, up to a year.", field="lead_days")
    ask_unless_sure(doubts, sure)
    values = {"side_g": side_g, "reserve_bar": reserve_bar, "low_share": low_share, "lead_days": lead_days}
    if version == 0:
        use, done = GasUse.objects.get_or_create(pk=1, defaults=values)
    else:
        done = bool(GasUse.objects.filter(pk=1, version=version).update(**values, version=F("version") + 1))
        use = queries.gas_use()
    if not done:
        raise Changed(CHANGED)
    return use


def _reserve_doubts(reserve_bar: float, by: Person) -> list[Doubt]:
    rack = queries.cylinder_rack()
    here = [each for each in (rack.connected, *rack.spares) if each is not None]
    least = min(here, key=lambda each: each.service_bar, default=None)
    edge = least.service_bar if least is not None else _MADE_FOR_BAR
    whose = f"cylinder {least.mark} is made for" if least is not None else "cylinders are mostly made for"
    slip = unit_slip("pressure", reserve_bar, by, lambda other: 0 < other <= _MUCH_KEPT * edge)
    if not 0 <= reserve_bar < edge:
        raise Refused(
            f"Give a gauge pressure from nought to below what {whose}, {said('pressure', edge, by)}. {slip}".strip(),
            field="reserve_bar",
        )
    if reserve_bar <= _MUCH_KEPT * edge:
        return []
    return [
        Doubt(
            key=f"reserve_bar:much:{reserve_bar:g}",
            field="reserve_bar",
            sentence=(
                f"{said('pressure', reserve_bar, by)} is more than half of what {whose}, {said('pressure', edge, by)}: "
                f"most of its gas would go back unused. {slip or 'Is that right?'}"
            ),
        )
    ]
