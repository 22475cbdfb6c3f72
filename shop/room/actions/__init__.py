"""What people do in the room, by topic: readings, cylinders, the shop's own limits."""

from shop.room.actions.chip import (
    change_chip_can,
    hand_over_chip,
    start_chip_can,
    store_chip,
    take_back_can,
    take_back_chip,
)
from shop.room.actions.cylinders import (
    add_cylinder,
    change_cylinder,
    connect_cylinder,
    empty_cylinder,
    return_cylinder,
)
from shop.room.actions.figures import change_gas_use, change_limit
from shop.room.actions.instruments import add_instrument, change_instrument, revoke_instrument
from shop.room.actions.logger_files import take_in_file
from shop.room.actions.losses import explain_loss
from shop.room.actions.readings import correct_reading, take_readings
from shop.room.actions.standing import begin_standing_test, drop_standing_test, end_standing_test
from shop.room.actions.vacuum import change_line_part, change_line_rules, take_baseline

__all__ = [
    "add_cylinder",
    "add_instrument",
    "begin_standing_test",
    "change_chip_can",
    "change_cylinder",
    "change_gas_use",
    "change_instrument",
    "change_limit",
    "change_line_part",
    "change_line_rules",
    "connect_cylinder",
    "correct_reading",
    "drop_standing_test",
    "empty_cylinder",
    "end_standing_test",
    "explain_loss",
    "hand_over_chip",
    "return_cylinder",
    "revoke_instrument",
    "start_chip_can",
    "store_chip",
    "take_back_can",
    "take_back_chip",
    "take_baseline",
    "take_in_file",
    "take_readings",
]
