"""The shop's own figures: limits of readings, and gas."""

from itertools import pairwise

from django.db.models import F

from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import CHANGED
from shop.refusal import Changed, Refused
from shop.room import queries
from shop.room.kinds import KINDS, LIMITED
from shop.room.models import LIMIT_ORDER, GasUse, Limit, LimitKind, ReadingKind
from shop.room.wording import said


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
    *, by: Person, version: int, side_g: float, reserve_bar: float, low_share: float, lead_days: int = 7
) -> GasUse:
    """Set the shop's own figures for gas: grams a side, the reserve, the share left at which a spare must stand
    ready, the days from an order until it is here.

    version: as in change_limit.
    """
    if not 0 <= side_g <= 5000:
        raise Refused("Give the grams of nitrogen that one side takes, between 0 and 5000.", field="side_g")
    edge = KINDS[ReadingKind.NITROGEN_BAR].possible[1]
    if not 0 <= reserve_bar <= edge:
        raise Refused(f"Give a gauge pressure up to {said('pressure', edge, by)}.", field="reserve_bar")
    if not 0 <= low_share <= 1:
        raise Refused("Give a share between 0 and 100\u00a0%.", field="low_share")
    if not 0 <= lead_days <= 365:
        raise Refused("Give the days from an order until it is here, up to a year.", field="lead_days")
    values = {"side_g": side_g, "reserve_bar": reserve_bar, "low_share": low_share, "lead_days": lead_days}
    if version == 0:
        use, done = GasUse.objects.get_or_create(pk=1, defaults=values)
    else:
        done = bool(GasUse.objects.filter(pk=1, version=version).update(**values, version=F("version") + 1))
        use = queries.gas_use()
    if not done:
        raise Changed(CHANGED)
    return use
