"""What can be done about the room itself."""

from shop.people.models import OWNERS, Person, Room
from shop.people.rules import check_currency, check_name, check_zone
from shop.press.action import action
from shop.press.rules import still_as_read
from shop.refusal import Refused


@action(roles=OWNERS)
def change_room(
    *,
    by: Person,
    version: int,
    name: str,
    zone: str,
    currency: str,
    paper: str,
    pressure_unit: str,
    temperature_unit: str,
    liquid_unit: str,
    length_unit: str,
) -> Room:
    """Change the room's name, zone, currency, paper, or the units a new person starts with.

    Times are stored in UTC, so another zone changes how past times are shown, not when they were. Raises Changed if
    somebody changed the room since `version`.
    """
    room = still_as_read(Room(pk=1), version)
    room.name, room.zone = check_name(name), check_zone(zone)
    room.currency, room.paper = check_currency(currency), paper
    room.pressure_unit, room.temperature_unit = pressure_unit, temperature_unit
    room.liquid_unit, room.length_unit = liquid_unit, length_unit
    room.version += 1
    room.save()
    return room


@action(roles=OWNERS)
def change_sign_in_rules(
    *,
    by: Person,
    version: int,
    invitation_hours: int,
    tablet_idle_minutes: int,
    owners_need_second_factor: bool,
) -> Room:
    """Change how long an invitation is good, after how long a shared device locks, and whether owners need a second
    factor: those without one set it up before they see another page. Raises Changed as change_room does.
    """
    if not 1 <= invitation_hours <= 720:
        raise Refused("Give 1 to 720 hours.", field="invitation_hours")
    if not 1 <= tablet_idle_minutes <= 120:
        raise Refused("Give 1 to 120 minutes.", field="tablet_idle_minutes")
    room = still_as_read(Room(pk=1), version)
    room.invitation_hours, room.tablet_idle_minutes = invitation_hours, tablet_idle_minutes
    room.owners_need_second_factor = owners_need_second_factor
    room.version += 1
    room.save()
    return room
