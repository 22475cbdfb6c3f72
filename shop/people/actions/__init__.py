"""What can be done about people, how they come in, their settings and the room."""

from shop.people.actions.doors import (
    end_device,
    end_other_sign_ins,
    end_sign_in,
    name_device,
    set_personal_code,
)
from shop.people.actions.invitations import accept_invitation, invite_person, withdraw_invitation
from shop.people.actions.people import (
    add_person,
    change_password,
    change_person,
    change_settings,
    set_password,
    settle_same,
)
from shop.people.actions.room import change_room, change_sign_in_rules
from shop.people.actions.second_factor import (
    renew_recovery_codes,
    take_off_second_factor,
    turn_off_second_factor,
    turn_on_second_factor,
)

__all__ = [
    "accept_invitation",
    "add_person",
    "change_password",
    "change_person",
    "change_room",
    "change_settings",
    "change_sign_in_rules",
    "end_device",
    "end_other_sign_ins",
    "end_sign_in",
    "invite_person",
    "name_device",
    "renew_recovery_codes",
    "set_password",
    "set_personal_code",
    "settle_same",
    "take_off_second_factor",
    "turn_off_second_factor",
    "turn_on_second_factor",
    "withdraw_invitation",
]
