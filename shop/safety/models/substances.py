"""What in the room can hurt: what it is, how it is classed, what is known of it, each figure with its source."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.urls import reverse

from shop.stock.models import Item, Supplier


class Form(models.TextChoices):
    """What it is like at room temperature."""

    LIQUID = "liquid", "Liquid"
    SOLID = "solid", "Solid"
    GAS = "gas", "Gas"


class Substance(models.Model):
    """A hazardous thing in the room.

    cas, un_number, un_name: as the supplier's sheet gives them, never worked out here. no_class_why: why this program
    gives it no hazard class of its own (cut chip: who made the lacquer, and who takes the waste, decide); with it there
    are no `hazards`. groups: what it is for what may stand beside it, slugs that shop.calc.apart knows. fire_use,
    fire_never: what puts it out and what must not be used, per substance and never merged with another's; fire_source:
    where that is from. items: what of the stock is or holds it. starter content has `is_starter` until it is changed.
    """

    name = models.CharField(max_length=80)
    slug = models.SlugField(max_length=40, unique=True)
    other_names = models.CharField(max_length=200, blank=True)
    what_for = models.CharField("what it is used for here", max_length=200, blank=True)
    form = models.CharField("at room temperature", max_length=8, choices=Form)
    cas = models.CharField("CAS number", max_length=12, blank=True)
    un_number = models.CharField("UN number", max_length=4, blank=True)
    un_name = models.CharField("proper shipping name", max_length=120, blank=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    items = models.ManyToManyField(Item, blank=True, related_name="substances")
    no_class_why = models.CharField("why it is given no hazard class here", max_length=300, blank=True)
    groups = models.JSONField("for keeping apart", default=list, blank=True)
    fire_use = models.CharField("puts it out", max_length=300, blank=True)
    fire_never = models.CharField("never on it", max_length=300, blank=True)
    fire_source = models.CharField("where that is from", max_length=200, blank=True)
    note = models.CharField(max_length=500, blank=True)
    is_starter = models.BooleanField(default=False)
    is_active = models.BooleanField("kept here", default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [models.UniqueConstraint(Lower("name"), name="safety_substance_name_once")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("safety:substance", args=[self.slug])


class Hazard(models.Model):
    """One line of a substance's classification: class, category, and the H statement that goes with it.

    hazard_class: a slug that shop.calc.ghs knows; category: "2", "1A", "Div 1.1", "Compressed gas"; h_code: "H225".
    """

    substance = models.ForeignKey(Substance, on_delete=models.CASCADE, related_name="hazards")
    hazard_class = models.SlugField(max_length=40)
    category = models.CharField(max_length=24, blank=True)
    h_code = models.CharField("H statement", max_length=8)
    source = models.CharField(max_length=200, blank=True)
    from_memory = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["h_code", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["substance", "hazard_class", "h_code"], name="safety_hazard_once"),
        ]

    def __str__(self) -> str:
        return f"{self.h_code} {self.hazard_class} {self.category}".strip()


class Statement(models.Model):
    """A precautionary or supplementary statement of a substance: P210, P303+P361+P353, EUH066.

    fill: what the supplier puts where the text leaves a gap ("use … to extinguish").
    """

    substance = models.ForeignKey(Substance, on_delete=models.CASCADE, related_name="statements")
    code = models.CharField(max_length=24)
    fill = models.CharField(max_length=120, blank=True)
    source = models.CharField(max_length=200, blank=True)
    from_memory = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["substance", "code"], name="safety_statement_once"),
        ]

    def __str__(self) -> str:
        return self.code


class PropertyKind(models.TextChoices):
    """Physical data; the unit each is stored in stands in its label."""

    MOLAR_MASS = "molar-mass", "Molar mass, g/mol"
    BOILING = "boiling", "Boiling point, °C"
    MELTING = "melting", "Melting point, °C"
    FLASH = "flash", "Flash point, °C"
    AUTOIGNITION = "autoignition", "Autoignition temperature, °C"
    DECOMPOSITION = "decomposition", "Decomposes or ignites from, °C"
    LEL = "lel", "Lower explosive limit, % by volume"
    UEL = "uel", "Upper explosive limit, % by volume"
    VAPOUR_PRESSURE = "vapour-pressure", "Vapour pressure, Pa"
    DENSITY = "density", "Density, kg/m³"
    VAPOUR_DENSITY = "vapour-density", "Vapour density, air 1"
    VISCOSITY = "viscosity", "Viscosity, mm²/s"


class Property(models.Model):
    """One published figure, with its source and condition. Where sources differ, each has its row.

    value: in the unit of its kind; high: where the source gives a range, its upper end. condition: "closed cup",
    "20 °C". from_memory: nobody looked it up; it is shown as such, and nothing is worked out from it.
    """

    substance = models.ForeignKey(Substance, on_delete=models.CASCADE, related_name="properties")
    kind = models.CharField(max_length=16, choices=PropertyKind)
    value = models.FloatField()
    high = models.FloatField("to", null=True, blank=True)
    condition = models.CharField(max_length=80, blank=True)
    source = models.CharField(max_length=200)
    from_memory = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["kind", "value", "id"]
        verbose_name_plural = "properties"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(PropertyKind)), name="safety_property_kind_known"),
            models.CheckConstraint(
                condition=Q(high__isnull=True) | Q(high__gte=F("value")), name="safety_property_range_runs_up"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.value}"


class LimitKind(models.TextChoices):
    """Over which time an exposure limit is meant."""

    TWA = "twa", "8 hours (TWA)"
    STEL = "stel", "15 minutes (STEL)"
    CEILING = "ceiling", "Never above (ceiling)"
    IDLH = "idlh", "Dangerous at once (IDLH)"


class ExposureLimit(models.Model):
    """What a body says how much of it may be in the air breathed. ppm and mg/m³ are both as printed: each is rounded.

    body: who set it ("OSHA PEL"); edition: which list, of which year; in_force: whether it holds today.
    """

    substance = models.ForeignKey(Substance, on_delete=models.CASCADE, related_name="limits")
    body = models.CharField("who set it", max_length=60)
    kind = models.CharField(max_length=8, choices=LimitKind)
    ppm = models.FloatField(null=True, blank=True)
    mg_m3 = models.FloatField("mg/m³", null=True, blank=True)
    edition = models.CharField("edition and date", max_length=120)
    in_force = models.BooleanField(default=True)
    source = models.CharField(max_length=200)
    from_memory = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["-in_force", "kind", "ppm", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(LimitKind)), name="safety_limit_kind_known"),
            models.CheckConstraint(condition=Q(ppm__gt=0) | Q(mg_m3__gt=0), name="safety_limit_has_a_figure"),
        ]

    def __str__(self) -> str:
        return f"{self.body} {self.get_kind_display()}"
