"""What of the morning can be carried away: the checks as they were signed, answer by answer."""

from shop.calc import units
from shop.carrying.lists import Export, Lines
from shop.concern import Grade
from shop.morning import queries
from shop.morning.models import Answer, Check
from shop.morning.tables import CheckFilter


def _checks(batch: list[Check]) -> Lines:
    """A row for each answer of a check; one for a check without."""
    for check in batch:
        overruling = check.overruling if check.is_overruled else None
        head = (
            check.pk,
            check.day,
            check.at,
            check.signed_as,
            check.get_verdict_display(),
            "; ".join(one["headline"] for one in check.concerns if one["grade"] > Grade.NOTE),
            check.note,
            check.corrects_id,
            not check.is_corrected,
            overruling.signed_as if overruling else "",
            overruling.reason if overruling else "",
        )
        answers = list(check.answers.all())
        for answer in answers:
            yield (*head, answer.place, answer.text, *_said(answer), answer.note)
        if not answers:
            yield (*head, "", "", "", None, "", "")


def _said(answer: Answer) -> tuple[object, ...]:
    """The answer in a word, what was read, and its unit: the one it is kept in."""
    if answer.reading is not None:
        kind = answer.quantity_kind
        return "read", answer.reading.value, units.label(kind, units.default_unit(kind))
    return "left out" if answer.yes is None else "yes" if answer.yes else "no", None, ""


EXPORTS = (
    Export(
        "checks",
        "Morning checks",
        (
            "Check", "Day", "Signed at", "By", "Verdict", "Because", "Note", "Corrects check", "Counts",
            "Overruled by", "Overruled because", "Where", "Question", "Answer", "Read", "Unit", "Remark",
        ),
        lambda query: CheckFilter(query, queryset=queries.check_in_full()).qs,
        ("day", "id"),
        _checks,
    ),
)  # fmt: skip
