"""The room's pages, by topic."""

from shop.room.views.air import air
from shop.room.views.chip import (
    change_chip_can,
    chip,
    hand_over_chip,
    start_chip_can,
    store_chip,
    take_back_can,
    take_back_chip,
)
from shop.room.views.cylinders import (
    add_cylinder,
    begin_standing_test,
    change_cylinder,
    connect_cylinder,
    cylinder,
    cylinders,
    drop_standing_test,
    empty_cylinder,
    end_standing_test,
    explain_loss,
    return_cylinder,
)
from shop.room.views.figures import change_gas_use, change_limit, change_limits
from shop.room.views.instruments import (
    add_instrument,
    change_instrument,
    instrument,
    instruments,
    instruments_how,
    revoke_instrument,
)
from shop.room.views.logger_files import take_in_file
from shop.room.views.readings import correct_reading, reading, readings, take_readings
from shop.room.views.room import room
from shop.room.views.vacuum import change_line_part, change_line_rules, line, take_baseline

__all__ = [
    "add_cylinder",
    "add_instrument",
    "air",
    "begin_standing_test",
    "change_chip_can",
    "change_cylinder",
    "change_gas_use",
    "change_instrument",
    "change_limit",
    "change_limits",
    "change_line_part",
    "change_line_rules",
    "chip",
    "connect_cylinder",
    "correct_reading",
    "cylinder",
    "cylinders",
    "drop_standing_test",
    "empty_cylinder",
    "end_standing_test",
    "explain_loss",
    "hand_over_chip",
    "instrument",
    "instruments",
    "instruments_how",
    "line",
    "reading",
    "readings",
    "return_cylinder",
    "revoke_instrument",
    "room",
    "start_chip_can",
    "store_chip",
    "take_back_can",
    "take_back_chip",
    "take_baseline",
    "take_in_file",
    "take_readings",
]
