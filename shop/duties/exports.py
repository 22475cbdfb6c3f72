"""What of care can be carried away: duties, and the entries that say what was done about them."""

from shop.calc import units
from shop.carrying.lists import Export, Lines
from shop.duties import queries
from shop.duties.models import Duty, Entry, EntryStep, StepQuantity
from shop.duties.tables import DutyFilter, EntryFilter


def _duties(batch: list[Duty]) -> Lines:
    return [
        (
            duty.name,
            duty.place,
            duty.how_often,
            duty.whose,
            duty.act_words,
            duty.is_critical,
            duty.last_entry.at if duty.last_entry else None,
            duty.due_on,
            duty.late_on,
            duty.expected_on,
            duty.counted_words,
            duty.why,
            duty.source,
            duty.is_active,
        )
        for duty in batch
    ]


def _entries(batch: list[Entry]) -> Lines:
    """A row for each step of an entry; one for an entry without."""
    for entry in batch:
        head = (
            entry.pk,
            entry.duty.name,
            entry.get_kind_display(),
            entry.at,
            entry.recorded_at,
            entry.signed_as,
            entry.under_as,
            entry.due_on,
            entry.until,
            entry.note,
            entry.corrects_id,
            not entry.is_corrected,
        )
        steps = list(entry.steps.all())
        for step in steps:
            yield (
                *head,
                step.text,
                step.is_done,
                step.reads,
                step.reading,
                _unit(step) if step.reads else "",
                step.low,
                step.high,
            )
        if not steps:
            yield (*head, "", None, "", None, "", None, None)


def _unit(step: EntryStep) -> str:
    """Of a reading: the one it is kept in."""
    if step.quantity == StepQuantity.PLAIN:
        return step.unit
    return units.label(step.quantity, units.default_unit(step.quantity))


EXPORTS = (
    Export(
        "duties",
        "Duties",
        (
            "Duty", "Where", "How often", "For whom", "Authority", "Safety-critical", "Last done", "Due on",
            "Grace until", "Expected by its meter", "Its meter", "Why", "Where this is from", "Kept",
        ),
        lambda query: DutyFilter(query, queryset=queries.in_full()).qs,
        ("name", "id"),
        _duties,
        whole="state=all",
    ),
    Export(
        "entries",
        "Entries of care",
        (
            "Entry", "Duty", "What", "When", "Entered", "Signed", "Under the eye of", "Due on", "Put off to", "Remark",
            "Corrects entry", "Counts", "Step", "Done", "What is read", "Read", "Unit", "Not below", "Not above",
        ),
        lambda query: EntryFilter(query, queryset=queries.entries()).qs,
        ("at", "id"),
        _entries,
    ),
)  # fmt: skip
