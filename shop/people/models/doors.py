"""How people come in: sign-ins, shared devices, the brakes on guessing, second factors and personal codes."""

from typing import ClassVar

from django.db import models

from shop.people.models.people import Person


class HowIn(models.TextChoices):
    PASSWORD = "password", "password"
    BOTH = "both", "password and second factor"
    CODE = "code", "personal code"
    INVITATION = "invitation", "invitation"


class SharedDevice(models.Model):
    """A device that an owner named as shared: there people change places by their personal codes, and it locks.

    The device keeps a secret in a signed cookie; here is its digest only. One that was ended is not taken up again.
    """

    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True)
    named_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    named_at = models.DateTimeField()
    ended_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class SignIn(models.Model):
    """One coming in of one person on one device, until they leave; the session behind it is Django's.

    key: of that session; words: what the device seems to be; seen_at: in steps of five minutes.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sign_ins")
    how = models.CharField(max_length=12, choices=HowIn)
    device = models.ForeignKey(SharedDevice, on_delete=models.PROTECT, null=True, blank=True, related_name="sign_ins")
    words = models.CharField(max_length=80)
    key = models.CharField(max_length=40, db_index=True)
    since = models.DateTimeField()
    seen_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["person", "ended_at"], name="people_sign_ins_of_person")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(how__in=list(HowIn)), name="people_how_in_known")
        ]

    def __str__(self) -> str:
        return f"{self.person_id} on {self.words}"


class Brake(models.Model):
    """What holds up guessing at one thing: an account, an address, a code on a device (see brakes.py).

    key: what it is about, without names that were typed; misses: those not forgotten yet; in_a_row: since the last
    success; until: before that no try is taken; person: whose account it is about, where there is one.
    """

    key = models.CharField(max_length=100, unique=True)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, null=True, blank=True, related_name="brakes")
    misses = models.PositiveIntegerField(default=0)
    in_a_row = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True)
    until = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.key


class SecondFactor(models.Model):
    """What a person's codes are made from, sealed with the program's key; and the step of the last code used."""

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="second_factor")
    sealed = models.TextField()
    made_at = models.DateTimeField()
    last_step = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"of {self.person_id}"


class RecoveryCode(models.Model):
    """One of ten codes for whoever lost the second factor: good once. slot: its first two signs, to find it by."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="recovery_codes")
    slot = models.CharField(max_length=2)
    hashed = models.CharField(max_length=128)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "slot"], name="people_recovery_slot_once"),
        ]

    def __str__(self) -> str:
        return f"{self.slot}… of {self.person_id}"


class PersonalCode(models.Model):
    """Digits by which a person changes places on a shared device, and signs beside another.

    misses: wrong ones since the last right one, or since the person last came in with the password.
    """

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="personal_code")
    hashed = models.CharField(max_length=128)
    set_at = models.DateTimeField()
    misses = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"of {self.person_id}"
