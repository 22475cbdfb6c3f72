"""What is done about accounts: invitations, and which account is whose."""

from typing import ClassVar

from django.db import models

from shop import clock
from shop.people.models.people import Person, Role


class Invitation(models.Model):
    """A link by which one person may make their own account, once and until a time. Only its digest is kept."""

    name = models.CharField(max_length=80)
    role = models.CharField(max_length=12, choices=Role)
    email = models.EmailField(blank=True)
    digest = models.CharField(max_length=64, unique=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    person = models.OneToOneField(
        Person, on_delete=models.PROTECT, null=True, blank=True, related_name="came_by_invitation"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-made_at", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(role__in=list(Role)), name="people_invited_role_known"),
            models.CheckConstraint(
                condition=models.Q(used_at=None) | models.Q(withdrawn_at=None), name="people_used_or_withdrawn"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_over(self) -> bool:
        return self.expires_at <= clock.now()


class ToldApart(models.Model):
    """An owner's word that two accounts of like name or mail belong to two humans. first < second."""

    first = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["first", "second"], name="people_told_apart_once"),
            models.CheckConstraint(condition=models.Q(first__lt=models.F("second")), name="people_told_apart_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.first_id} and {self.second_id}"
