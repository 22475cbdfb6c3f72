"""What of safety can be carried away: who read which sheet."""

from shop.carrying.lists import Export, Lines
from shop.people.models import ENGINEERS
from shop.safety import queries
from shop.safety.models import SheetRead


def _reads(batch: list[SheetRead]) -> Lines:
    return [
        (one.version.title, one.version.number, one.version.at, one.by.name, one.by.get_role_display(), one.at)
        for one in batch
    ]


EXPORTS = (
    Export(
        "sheets-read",
        "Hazard sheets read",
        ("Sheet", "Version", "Approved", "Who", "Role", "Read"),
        lambda query: queries.reads(),
        ("id",),
        _reads,
        roles=ENGINEERS,
    ),
)
