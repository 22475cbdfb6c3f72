"""How an item is ordered: the shop's own figures, which the outlook reckons with."""

import math
from collections.abc import Collection

from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import still_as_read, words
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.stock import rules
from shop.stock.amounts import MOST, in_words
from shop.stock.models import Item
from shop.wording import per_cent

#: What can be chosen for the chance that no order cycle runs short: below it is a coin's toss, above it no count of
#: past weeks can tell.
SERVICE_LEVELS = (0.5, 0.999)
#: Weeks that an order may be to last: a year.
MOST_WEEKS = 52


@action(roles=ENGINEERS)
def plan_item(
    *,
    by: Person,
    item: Item,
    version: int,
    pack_size: int = 1,
    minimum_order: int = 0,
    service_level: float = 0.95,
    cover_weeks: int = 8,
    expected_weekly: float | None = None,
    shelf_room: int | None = None,
    place: str = "",
    sure: Collection[str] = (),
) -> Item:
    """Change how an item is ordered and where it stands; quantities in its unit, the others as in Item.

    Asks about a shelf that has room for less than the smallest order. Raises Changed if somebody changed the item
    since `version`.
    """
    fresh = still_as_read(item, version)
    facts = plan_facts(
        pack_size=pack_size,
        minimum_order=minimum_order,
        service_level=service_level,
        cover_weeks=cover_weeks,
        expected_weekly=expected_weekly,
        shelf_room=shelf_room,
        place=place,
    )
    if shelf_room is not None:
        least = pack_size * max(1, math.ceil(minimum_order / pack_size))
        if shelf_room < least:
            ask_unless_sure([_no_room(fresh, room=shelf_room, least=least, by=by)], sure)
    for field, value in facts.items():
        setattr(fresh, field, value)
    fresh.version += 1
    fresh.save()
    return fresh


def plan_facts(
    *,
    pack_size: int,
    minimum_order: int,
    service_level: float,
    cover_weeks: int,
    expected_weekly: float | None,
    shelf_room: int | None,
    place: str,
) -> dict[str, object]:
    """How an item is ordered and where it stands, checked, by the names of its fields."""
    low, high = SERVICE_LEVELS
    if not math.isfinite(service_level) or not low <= service_level <= high:
        raise Refused(f"Give a chance between {per_cent(low)} and {per_cent(high, 1)}.", field="service_level")
    if expected_weekly is not None and not 0 < expected_weekly <= MOST:
        raise Refused("Give what is used a week, above zero, or leave it empty.", field="expected_weekly")
    if shelf_room is not None:
        rules.whole(shelf_room, field="shelf_room", low=1)
    return {
        "pack_size": rules.whole(pack_size, field="pack_size", low=1),
        "minimum_order": rules.whole(minimum_order, field="minimum_order"),
        "service_level": service_level,
        "cover_weeks": rules.whole(cover_weeks, field="cover_weeks", low=1, high=MOST_WEEKS),
        "expected_weekly": expected_weekly,
        "shelf_room": shelf_room,
        "place": words(place, field="place", longest=60),
    }


def _no_room(item: Item, *, room: int, least: int, by: Person) -> Doubt:
    return Doubt(
        key=f"no-room:{room}:{least}",
        field="shelf_room",
        sentence=(
            f"The smallest order is {in_words(least, item, by)}, and the shelf would hold {in_words(room, item, by)}. "
            "Is that right?"
        ),
    )
