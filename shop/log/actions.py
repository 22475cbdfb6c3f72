"""What people do in the log: write a note, put one of theirs right, and say that they have read one."""

from collections.abc import Collection, Sequence

from django.db import IntegrityError, transaction

from shop import clock
from shop.log import things
from shop.log.models import Addressee, Crowd, Note, NoteKind, NoteLink, NoteRead
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.plain import visible
from shop.refusal import NotAllowed, Refused

#: The longest text of a note, and the most things that one is about.
LONGEST = 2000
MOST_THINGS = 20

_GONE = "Something this was to be about is not there, or not any more. Open the page again."
NOT_YOURS = "Only whoever wrote a note puts it right. Write another one about it."
_TWICE = "That note was put right already. Put the one right that took its place."


@action(roles=HANDS)
def write_note(
    *,
    by: Person,
    text: str,
    kind: str = NoteKind.NOTE,
    crowds: Collection[str] = (),
    people: Collection[Person] = (),
    about: Sequence[str] = (),
) -> Note:
    """Write a note for those named; with nobody named it is kept to be looked up.

    crowds: values of Crowd; people: by name, of those who work here; about: refs of things ("lot:12"), which must be
    there. Refuses an empty text, and a handover for nobody.
    """
    return _written(by, text, kind, crowds, people, about, corrects=None)


@action(roles=HANDS)
def correct_note(
    *,
    by: Person,
    note: Note,
    text: str,
    kind: str = NoteKind.NOTE,
    crowds: Collection[str] = (),
    people: Collection[Person] = (),
    about: Sequence[str] = (),
) -> Note:
    """Put a note of one's own right by a new one that names it; those it is for are shown the new one. Refuses
    another's note, and one that was put right already."""
    if note.by.human != by.human:
        raise NotAllowed(NOT_YOURS)
    if Note.objects.filter(corrects=note).exists():
        raise Refused(_TWICE)
    try:
        with transaction.atomic():
            return _written(by, text, kind, crowds, people, about, corrects=note)
    except IntegrityError as twice:
        raise Refused(_TWICE) from twice


@action(roles=HANDS)
def read_note(*, by: Person, note: Note) -> NoteRead:
    """Say that one has read a note; a second time changes nothing."""
    return NoteRead.objects.get_or_create(note=note, person=by, defaults={"at": clock.now()})[0]


def _written(
    by: Person,
    text: str,
    kind: str,
    crowds: Collection[str],
    people: Collection[Person],
    about: Sequence[str],
    *,
    corrects: Note | None,
) -> Note:
    said = _paragraphs(text)
    if kind not in NoteKind.values:
        raise Refused("Choose what it is.", field="kind")
    whom = [crowd for crowd in Crowd if crowd in crowds]
    if len(whom) != len(set(crowds)):
        raise Refused("That is not on the list. Choose again.", field="whom")
    if any(not one.is_active or one.role not in HANDS for one in people):
        raise Refused("Only those who work here read the log. Choose again.", field="whom")
    if kind == NoteKind.HANDOVER and not whom and not people:
        raise Refused("Say whom it is handed over to.", field="whom")
    linked = things.named(list(about))
    if len(linked) != len(set(about)):
        raise Refused(_GONE, field="about")
    if len(linked) > MOST_THINGS:
        raise Refused(f"That is about more than {MOST_THINGS} things. Write one note for some of them.", field="about")
    note = Note.objects.create(kind=kind, text=said, at=clock.now(), by=by, corrects=corrects)
    Addressee.objects.bulk_create(
        [
            *(Addressee(note=note, crowd=crowd) for crowd in whom),
            *(Addressee(note=note, person=one) for one in sorted(people, key=lambda one: (one.name, one.pk))),
        ]
    )
    NoteLink.objects.bulk_create(
        NoteLink(note=note, kind=one.sort, key=one.key, label=one.label[:160]) for one in linked
    )
    return note


def _paragraphs(text: str) -> str:
    """`text` line by line, without hidden signs, space around a line, and more than one empty line together."""
    lines = [" ".join(line.split()) for line in visible(text).splitlines()]
    kept = [line for place, line in enumerate(lines) if line or (place and lines[place - 1])]
    said = "\n".join(kept).strip()
    if not said:
        raise Refused("Write something here.", field="text")
    if len(said) > LONGEST:
        raise Refused(f"Keep it to {LONGEST} characters; these are {len(said)}.", field="text")
    return said
