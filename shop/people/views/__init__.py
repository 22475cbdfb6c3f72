"""Pages about people, how they come in, and the room."""

from shop.people.views.doors import ask_again, lock, second_step, sign_in, sign_out, still_here, switch_person
from shop.people.views.letting_in import (
    end_device,
    invitation,
    invite_person,
    name_device,
    shared_devices,
    take_off_second_factor,
    withdraw_invitation,
)
from shop.people.views.own import (
    end_other_sign_ins,
    end_sign_in,
    renew_recovery_codes,
    set_personal_code,
    sign_ins,
    turn_off_second_factor,
    turn_on_second_factor,
)
from shop.people.views.people import (
    add_person,
    change_password,
    change_person,
    more,
    people,
    set_password,
    settings,
    settle_same,
)
from shop.people.views.room import change_room, change_sign_in_rules

__all__ = [
    "add_person",
    "ask_again",
    "change_password",
    "change_person",
    "change_room",
    "change_sign_in_rules",
    "end_device",
    "end_other_sign_ins",
    "end_sign_in",
    "invitation",
    "invite_person",
    "lock",
    "more",
    "name_device",
    "people",
    "renew_recovery_codes",
    "second_step",
    "set_password",
    "set_personal_code",
    "settings",
    "settle_same",
    "shared_devices",
    "sign_in",
    "sign_ins",
    "sign_out",
    "still_here",
    "switch_person",
    "take_off_second_factor",
    "turn_off_second_factor",
    "turn_on_second_factor",
    "withdraw_invitation",
]
