"""What of training can be carried away."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet

from shop.carrying.lists import Export, Lines
from shop.people.models import ENGINEERS, HANDS
from shop.training.models import Authority, Enrolment, SignOff
from shop.training.queries import authorities, courses, enrolments, sign_offs, steps_as_signed


def _authorities(batch: list[Authority]) -> Lines:
    return [
        (
            one.act.name,
            one.person.name,
            one.starts_on,
            one.until,
            one.note,
            one.by.name,
            one.at,
            taken.from_day if (taken := getattr(one, "withdrawn", None)) else None,
            taken.why if taken else "",
            taken.by.name if taken else "",
        )
        for one in batch
    ]


def _sign_offs(batch: list[SignOff]) -> Lines:
    words = steps_as_signed(batch)
    return [
        (
            one.pk,
            one.person.name,
            one.step.programme.name,
            then.title if (then := words.get(one.pk)) else one.step.title,
            one.edition,
            one.step.get_kind_display(),
            one.on,
            str(one.sheet_version) if one.sheet_version else "",
            one.by.name,
            one.get_how_display(),
            one.at,
            one.note,
            taken.at if (taken := getattr(one, "withdrawn", None)) else None,
            taken.why if taken else "",
            taken.by.name if taken else "",
        )
        for one in batch
    ]


def _enrolments(batch: list[Enrolment]) -> Lines:
    return [
        (
            course.enrolment.person.name,
            course.enrolment.programme.name,
            course.enrolment.starts_on,
            course.enrolment.mentor.name if course.enrolment.mentor else "",
            course.done,
            course.of,
            len(course.behind),
            course.enrolment.ended_at,
            course.enrolment.ended_why,
        )
        for course in courses(batch)
    ]


def _asked(query: Mapping[str, Any]) -> QuerySet[Authority]:
    return authorities()


def _reasons(*headings: str) -> dict[str, frozenset[str]]:
    """Columns that say why, of anybody: as a training record, they are for owner and engineers. One's own are on one's
    own record."""
    return dict.fromkeys(headings, ENGINEERS)


EXPORTS = (
    Export(
        "authorities",
        "Authorities",
        ("Act", "Who", "From", "Until", "Why", "Given by", "Given", "Taken back from", "Why taken back", "By"),
        _asked,
        ("id",),
        _authorities,
        roles=HANDS,
        guarded=_reasons("Why", "Why taken back"),
    ),
    Export(
        "sign-offs",
        "Sign-offs",
        (
            "Number",
            "Who",
            "Programme",
            "Step",
            "Edition",
            "How it is learned",
            "Done on",
            "Sheet then in force",
            "Signed by",
            "By",
            "Signed",
            "Note",
            "Withdrawn",
            "Why withdrawn",
            "Withdrawn by",
        ),
        lambda query: sign_offs(),
        ("id",),
        _sign_offs,
        roles=ENGINEERS,
    ),
    Export(
        "enrolments",
        "Enrolments",
        ("Who", "Programme", "First day", "With", "Steps done", "Of", "Behind", "Ended", "Why ended"),
        lambda query: enrolments(),
        ("id",),
        _enrolments,
        roles=HANDS,
        guarded=_reasons("Why ended"),
    ),
)
