"""The room's log: what somebody wrote down for those they name. Nothing in it is ever changed or removed."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.log.things import Thing
from shop.people.models import Role


class NoteKind(models.TextChoices):
    NOTE = "note", "Note"
    HANDOVER = "handover", "Handover"


class Crowd(models.TextChoices):
    """Whom a note may be for, besides people by name."""

    EVERYBODY = "everybody", "Everybody who works here"
    ASSISTANT = Role.ASSISTANT.value, "The assistants"
    ENGINEER = Role.ENGINEER.value, "The engineers"
    OWNER = Role.OWNER.value, "The owners"


class Note(models.Model):
    """One note; whom it is for stands in its Addressee rows, what it is about in its NoteLink rows.

    corrects: the note whose place it takes, which stays, and counts no more.
    """

    kind = models.CharField(max_length=8, choices=NoteKind)
    text = models.CharField(max_length=2000)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        indexes: ClassVar = [models.Index(fields=["-at", "-id"], name="log_notes_by_day")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(NoteKind)), name="log_note_kind_known"),
            models.CheckConstraint(condition=~Q(corrects=models.F("id")), name="log_note_not_its_own_correction"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("log:note", args=[self.pk])

    @property
    def is_corrected(self) -> bool:
        return hasattr(self, "corrected_by")

    @property
    def things(self) -> list[Thing]:
        """What it is about."""
        return [link.thing for link in self.links.all()]


class Addressee(models.Model):
    """Whom a note is for: a crowd, or one person. They see it on today's page until they have read it."""

    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="addressees")
    crowd = models.CharField(max_length=10, choices=Crowd, blank=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(crowd__in=list(Crowd), person__isnull=True) | Q(crowd="", person__isnull=False),
                name="log_for_a_crowd_or_one",
            ),
            models.UniqueConstraint(fields=["note", "person"], name="log_for_each_person_once"),
            models.UniqueConstraint(
                fields=["note", "crowd"], condition=Q(person__isnull=True), name="log_for_each_crowd_once"
            ),
        ]

    def __str__(self) -> str:
        return self.person.name if self.person is not None else self.get_crowd_display()


class NoteLink(models.Model):
    """A thing that a note is about. kind: its name in things.py; key: its part of the address; label: as it was called
    when the note was written."""

    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="links")
    kind = models.CharField(max_length=20)
    key = models.CharField(max_length=60)
    label = models.CharField(max_length=160)

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [models.Index(fields=["kind", "key"], name="log_notes_of_a_thing")]
        constraints: ClassVar = [models.UniqueConstraint(fields=["note", "kind", "key"], name="log_linked_once")]

    def __str__(self) -> str:
        return self.label

    @property
    def thing(self) -> Thing:
        return Thing(self.kind, self.key, self.label)


class NoteRead(models.Model):
    """That somebody read a note; once a person."""

    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="readings")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["note", "person"], name="log_read_once")]

    def __str__(self) -> str:
        return f"note {self.note_id} read by {self.person_id}"
