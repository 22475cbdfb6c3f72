"""Everything that safety writes, by topic."""

from shop.safety.actions.containers import (
    finish_container,
    move_container,
    open_container,
    read_level,
    set_open_days,
)
from shop.safety.actions.hazard_sheets import (
    add_sheet,
    approve_sheet,
    change_safety_rules,
    confirm_sheet_read,
    drop_draft,
    resume_sheet,
    stop_sheet,
    withdraw_version,
    write_sheet,
)
from shop.safety.actions.incidents import (
    FollowUp,
    note_incident,
    report_incident,
)
from shop.safety.actions.papers import (
    make_binder,
)
from shop.safety.actions.places import (
    PlaceFacts,
    Wanted,
    add_place,
    answer_finding,
    change_kept,
    change_place,
    resume_place,
    stop_place,
)
from shop.safety.actions.substances import (
    add_substance,
    change_exposure_limits,
    change_properties,
    change_statements,
    change_substance,
    classify_substance,
    resume_substance,
    stop_substance,
)
from shop.safety.actions.supplier_sheets import (
    add_supplier_sheet,
    withdraw_supplier_sheet,
)
from shop.safety.actions.wall import (
    WantedExtinguisher,
    WantedNumber,
    WantedShutOff,
    keep_call_numbers,
    keep_extinguishers,
    keep_shut_offs,
)

__all__ = [
    "FollowUp",
    "PlaceFacts",
    "Wanted",
    "WantedExtinguisher",
    "WantedNumber",
    "WantedShutOff",
    "add_place",
    "add_sheet",
    "add_substance",
    "add_supplier_sheet",
    "answer_finding",
    "approve_sheet",
    "change_exposure_limits",
    "change_kept",
    "change_place",
    "change_properties",
    "change_safety_rules",
    "change_statements",
    "change_substance",
    "classify_substance",
    "confirm_sheet_read",
    "drop_draft",
    "finish_container",
    "keep_call_numbers",
    "keep_extinguishers",
    "keep_shut_offs",
    "make_binder",
    "move_container",
    "note_incident",
    "open_container",
    "read_level",
    "report_incident",
    "resume_place",
    "resume_sheet",
    "resume_substance",
    "set_open_days",
    "stop_place",
    "stop_sheet",
    "stop_substance",
    "withdraw_supplier_sheet",
    "withdraw_version",
    "write_sheet",
]
