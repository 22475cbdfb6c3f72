"""What reports worry about: those that nobody has closed. Nothing of what was told stands in it: mails carry it far."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.db.models import BooleanField, Case, F, OuterRef, QuerySet, Subquery, Value, When
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.safety.models import IncidentKind, IncidentNote
from shop.safety.queries.incidents import open_incidents
from shop.topic import Row, Topic, moment
from shop.wording import in_full


def _rows() -> Iterator[QuerySet[Any]]:
    noted = IncidentNote.objects.filter(incident=OuterRef("pk")).order_by("-pk").values("at")[:1]
    was_hurt = Case(When(hurt="", then=Value(False)), default=Value(True), output_field=BooleanField())
    yield (
        open_incidents().annotate(
            told=JSONObject(
                incident=F("pk"),
                kind=F("kind"),
                near=F("near_miss"),
                hurt=was_hurt,
                happened=F("at"),
                reported=F("told_at"),
                noted=Subquery(noted),
            )
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    for row in rows:
        yield _open(row)


def _open(row: Row) -> Concern:
    grave = not row["near"] and (row["hurt"] or row["kind"] == IncidentKind.FIRE)
    sort, day = IncidentKind(row["kind"]).label, clock.day_of(moment(row["happened"]))
    reason = [f"Reported on {in_full(clock.day_of(moment(row['reported'])))}."]
    if row["hurt"]:
        reason.append("Somebody was hurt.")
    noted = row["noted"]
    reason.append(f"Last noted on {in_full(clock.day_of(moment(noted)))}." if noted else "Nothing is noted on it yet.")
    return Concern(
        key=f"safety:incident:{row['incident']}",
        grade=Grade.CARE if grave else Grade.NOTE,
        subject="Near miss" if row["near"] else "Incident",
        headline=f"{'Near miss, ' + sort.lower() if row['near'] else sort}, {in_full(day)}: still open",
        reason=" ".join(reason),
        what_to_do="Read it. Write down what follows from it and what was learned, then close it.",
        link=reverse("safety:incident", args=[row["incident"]]),
    )


TOPIC = Topic(rows=_rows, worries=_worries)
