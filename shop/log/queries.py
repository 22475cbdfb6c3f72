"""Reading the log, shaped for its pages."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.db.models.functions import JSONObject

from shop.log.models import Addressee, Crowd, Note, NoteKind, NoteLink, NoteRead
from shop.log.things import Thing
from shop.people.models import HANDS, Person
from shop.topic import Row, moment

#: So many notes stand on a thing's own page.
BESIDE = 3


def notes() -> QuerySet[Note]:
    """All notes, each with what a list of them shows."""
    return Note.objects.select_related("by", "corrected_by").prefetch_related("links", "addressees__person")


def standing(rows: QuerySet[Note]) -> QuerySet[Note]:
    """Those whose place no correction took."""
    return rows.filter(corrected_by=None)


def is_for(person: Person) -> Exists:
    """Whether a note is for that person: by name, by role, or as everybody's."""
    meant = Q(person=person) | Q(crowd=Crowd.EVERYBODY) | Q(crowd=person.role, person=None)
    return Exists(Addressee.objects.filter(meant, note=OuterRef("pk")))


def unread_by(person: Person) -> QuerySet[Note]:
    """Notes that are for that person and that they have not read; none of their own, and none from before they came."""
    if person.role not in HANDS:
        return Note.objects.none()
    read = NoteRead.objects.filter(note=OuterRef("pk"), person=person)
    return standing(Note.objects.filter(is_for(person), ~Exists(read), at__gte=person.made_at).exclude(by=person))


def linked_to(sort: str, key: str) -> QuerySet[Any]:
    """The numbers of notes about a thing."""
    return NoteLink.objects.filter(kind=sort, key=key).values("note")


def beside(sort: str, key: str) -> list[Note]:
    """The latest notes about a thing, for its own page, and one more if there are more. One query."""
    linked = standing(Note.objects.filter(pk__in=linked_to(sort, key)))
    return list(linked.select_related("by")[: BESIDE + 1])


# One note -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Readers:
    """Who read a note, in their order; and of those it is for, who has not yet."""

    read: list[NoteRead]
    waiting: list[Person]


def readers(note: Note) -> Readers:
    """Who of those that work here now has read it, and who has not. Two queries."""
    read = list(NoteRead.objects.filter(note=note).select_related("person"))
    addressees = note.addressees.all()
    crowds = {one.crowd for one in addressees if one.crowd}
    named = {one.person_id for one in addressees if one.person_id}
    meant = Q(pk__in=named) if Crowd.EVERYBODY not in crowds else Q(role__in=HANDS)
    meant |= Q(role__in=crowds - {Crowd.EVERYBODY})
    waiting = Person.objects.filter(meant, is_active=True, role__in=HANDS, made_at__lte=note.at).exclude(
        pk__in=[note.by_id, *(one.person_id for one in read)]
    )
    return Readers(read, [] if note.is_corrected else list(waiting.order_by("name", "pk")))


# Today's page ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Unread:
    """A note on the page of somebody who has not read it. is_anew: it puts an earlier one right."""

    pk: int
    kind: NoteKind
    text: str
    by: str
    at: datetime
    is_anew: bool
    things: list[Thing]


def unread_rows(person: Person) -> list[QuerySet[Any]]:
    """What the person has not read, and what those notes are about: for `topic.along`, and `unread_of`."""
    mine = unread_by(person)
    told = JSONObject(pk=F("pk"), kind=F("kind"), text=F("text"), by=F("by__name"), at=F("at"), corrects=F("corrects"))
    linked = JSONObject(note=F("note"), sort=F("kind"), key=F("key"), label=F("label"), link=F("pk"))
    return [
        mine.annotate(told=told),
        NoteLink.objects.filter(note__in=mine.order_by().values("pk")).annotate(told=linked),
    ]


def unread(person: Person) -> list[Unread]:
    """What the person has not read, where today's page did not read it along. Two queries."""
    return unread_of([list(rows.values_list("told", flat=True)) for rows in unread_rows(person)])


def unread_of(told: Sequence[Iterable[Row]]) -> list[Unread]:
    """The notes that `unread_rows` found: handovers first, then the oldest first."""
    noted, linked = (list(rows) for rows in told)
    by_note: dict[int, list[Thing]] = {}
    for row in sorted(linked, key=lambda row: row["link"]):
        by_note.setdefault(row["note"], []).append(Thing(row["sort"], row["key"], row["label"]))
    found = [
        Unread(
            pk=row["pk"],
            kind=NoteKind(row["kind"]),
            text=row["text"],
            by=row["by"],
            at=moment(row["at"]),
            is_anew=row["corrects"] is not None,
            things=by_note.get(row["pk"], []),
        )
        for row in noted
    ]
    return sorted(found, key=lambda one: (one.kind != NoteKind.HANDOVER, one.at, one.pk))
