"""Looking through the whole record, once a day."""

from shop.press.models import RecordHead
from shop.press.record import broken


def look_through() -> str:
    """Follow the chain from its first line to its last, and keep what was wrong with it for the concern."""
    head = RecordHead.objects.filter(pk=1).first()
    if head is None:
        return "nothing was done yet"
    found = broken()
    said = found.sentence if found else ""
    RecordHead.objects.filter(pk=1).update(fault=said, looked_at=head.number)
    return said or f"holds to line {head.number}"
