"""What of the watch can be carried away: alerts, and for owners the mail."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet

from shop.carrying.lists import Export, Lines
from shop.concern import Grade
from shop.people.models import OWNERS
from shop.watch import queries
from shop.watch.models import Alert, Delivery


def _asked(query: Mapping[str, Any]) -> QuerySet[Alert]:
    """Those that stand; with ?state=over those that are over, with ?state=all both."""
    state = query.get("state", "")
    found = Alert.objects.select_related("taken_by", "with_person")
    return found if state == "all" else found.filter(ended_at__isnull=state != "over")


def _alerts(batch: list[Alert]) -> Lines:
    return [
        (
            alert.pk,
            Grade(alert.grade).word,
            alert.subject,
            alert.headline,
            alert.reason,
            alert.what_to_do,
            alert.by,
            alert.opened_at,
            alert.ended_at,
            alert.taken_by.name if alert.taken_by else "",
            alert.taken_at,
            alert.with_person.name if alert.with_person else "",
            alert.snoozed_until,
            alert.settled_at,
        )
        for alert in batch
    ]


def _deliveries(batch: list[Delivery]) -> Lines:
    return [
        (
            one.person.name,
            one.get_kind_display(),
            one.get_state_display(),
            one.made_at,
            one.sent_at,
            one.attempts,
            one.doubled,
            one.trouble,
        )
        for one in batch
    ]


EXPORTS = (
    Export(
        "alerts",
        "Alerts",
        (
            "Alert", "Grade", "About", "What", "Why", "What to do", "By", "Raised", "Gone", "Looked after by", "Since",
            "Whose turn", "Quiet until", "Settled",
        ),
        _asked,
        ("opened_at", "id"),
        _alerts,
        whole="state=all",
    ),
    Export(
        "deliveries",
        "Mail",
        ("To", "Mail", "State", "Wished", "Taken by the mail server", "Attempts", "Perhaps doubled", "Trouble"),
        lambda query: queries.deliveries(),
        ("made_at", "id"),
        _deliveries,
        roles=OWNERS,
    ),
)  # fmt: skip
