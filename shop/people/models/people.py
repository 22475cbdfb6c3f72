import unicodedata
from collections.abc import Iterable
from typing import Any, ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from shop.press.plain import visible


class Role(models.TextChoices):
    OWNER = "owner", "Owner"
    ENGINEER = "engineer", "Engineer"
    ASSISTANT = "assistant", "Assistant"
    VISITOR = "visitor", "Visitor (reads only)"


#: Who may do what, by role: the sets that actions name.
OWNERS = frozenset({Role.OWNER})
ENGINEERS = frozenset({Role.OWNER, Role.ENGINEER})
HANDS = frozenset({Role.OWNER, Role.ENGINEER, Role.ASSISTANT})
EVERYONE = frozenset(Role)


class PressureUnit(models.TextChoices):
    BAR = "bar", "bar"
    PSI = "psi", "psi"


class TemperatureUnit(models.TextChoices):
    CELSIUS = "degC", "°C"
    FAHRENHEIT = "degF", "°F"


class LiquidUnit(models.TextChoices):
    LITRE = "l", "litre"
    GALLON = "gal", "US gallon"


class LengthUnit(models.TextChoices):
    MM = "mm", "millimetre"
    INCH = "in", "inch"


class Units(models.Model):
    """The units a person reads and types; a room's are those a new person starts with."""

    pressure_unit = models.CharField(max_length=8, choices=PressureUnit, default=PressureUnit.BAR)
    temperature_unit = models.CharField(max_length=8, choices=TemperatureUnit, default=TemperatureUnit.CELSIUS)
    liquid_unit = models.CharField(max_length=8, choices=LiquidUnit, default=LiquidUnit.LITRE)
    length_unit = models.CharField(max_length=8, choices=LengthUnit, default=LengthUnit.MM)

    class Meta:
        abstract = True


class Paper(models.TextChoices):
    A4 = "A4", "A4"
    LETTER = "Letter", "US Letter"


class Room(Units):
    """The one cutting room this database is about."""

    name = models.CharField(max_length=80)
    zone = models.CharField(max_length=64, default="UTC")
    currency = models.CharField(max_length=3, default="EUR")
    paper = models.CharField(max_length=8, choices=Paper, default=Paper.A4)
    invitation_hours = models.PositiveSmallIntegerField(default=72)
    tablet_idle_minutes = models.PositiveSmallIntegerField(default=5)
    owners_need_second_factor = models.BooleanField(default=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=models.Q(id=1), name="people_one_room")]

    def __str__(self) -> str:
        return self.name


def one_spelling(secret: str | None) -> str | None:
    """A password as it is hashed: NFKC, so that it is the same from every keyboard (NIST SP 800-63B-4, 3.1.1.2)."""
    return None if secret is None else unicodedata.normalize("NFKC", secret)


def folded(name: str) -> str:
    """A name as it is compared: however it is capitalised, whatever keyboard it is from."""
    return " ".join(unicodedata.normalize("NFKC", visible(name)).casefold().split())


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(sign_in__iexact=username)


class Person(Units, AbstractBaseUser):
    """Somebody who works in the room, or looks in."""

    sign_in = models.CharField("sign-in name", max_length=60, unique=True)
    name = models.CharField(max_length=80)
    email = models.EmailField(blank=True)
    role = models.CharField(max_length=12, choices=Role, default=Role.ASSISTANT)
    is_active = models.BooleanField(default=True)
    made_at = models.DateTimeField()
    #: Since when signing in asks for a code besides the password; None while it does not.
    second_factor_at = models.DateTimeField(null=True, blank=True)
    #: The account that stands for this human, where they have more than one; None for that one itself.
    same_as = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="also")
    #: Name and mail as they are compared with those of other accounts; kept by `save`.
    folded_name = models.CharField(max_length=160, default="", editable=False, db_index=True)
    folded_email = models.CharField(max_length=254, default="", editable=False)
    version = models.PositiveIntegerField(default=1)

    objects = PersonManager()

    USERNAME_FIELD = "sign_in"
    EMAIL_FIELD = "email"

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(role__in=list(Role)), name="people_role_known"),
            models.UniqueConstraint(Lower("sign_in"), name="people_sign_in_once"),
            models.CheckConstraint(condition=~models.Q(same_as=models.F("id")), name="people_not_same_as_itself"),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, update_fields: Iterable[str] | None = None, **rest: Any) -> None:
        self.folded_name, self.folded_email = folded(self.name)[:160], folded(self.email)[:254]
        if update_fields is not None:
            update_fields = {*update_fields, "folded_name", "folded_email"}
        super().save(*args, update_fields=update_fields, **rest)

    @property
    def human(self) -> int:
        """The number of the human behind the account: equal for the accounts an owner marked as one person's."""
        return self.same_as_id or self.pk

    def set_password(self, raw_password: str | None) -> None:
        super().set_password(one_spelling(raw_password))

    def check_password(self, raw_password: str | None) -> bool:
        return super().check_password(one_spelling(raw_password))

    @property
    def is_hand(self) -> bool:
        return self.role in HANDS

    @property
    def is_engineer(self) -> bool:
        return self.role in ENGINEERS

    @property
    def is_owner(self) -> bool:
        return self.role in OWNERS
