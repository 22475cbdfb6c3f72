"""Who and what is in the demo room. All of it is invented: the town, the people, the suppliers, the records."""

from dataclasses import dataclass
from decimal import Decimal

from shop.people.models import LengthUnit, LiquidUnit, PressureUnit, Role, TemperatureUnit

ROOM = "Nettlewick Cutting Room, Saltmere-under-Quill"
ZONE = "Europe/London"

#: The same for everybody in the demo room; said when it starts. It guards nothing.
PASSWORD = "paper-lantern-over-saltmere"

OWNER = ("Ottilie Brackenfold", "ottilie")
#: Name, sign-in name, role, and whether they think in US units.
OTHERS = (
    ("Caspar Wrenfeather", "caspar", Role.ENGINEER, True),
    ("Juno Applewhist", "juno", Role.ASSISTANT, False),
    ("Pim Larkvane", "pim", Role.VISITOR, False),
)
US_UNITS = {
    "pressure_unit": PressureUnit.PSI,
    "temperature_unit": TemperatureUnit.FAHRENHEIT,
    "liquid_unit": LiquidUnit.GALLON,
    "length_unit": LengthUnit.INCH,
}


@dataclass(frozen=True)
class Firm:
    """A supplier. lead_days: what it promises; slow: how long it really takes, from and to, as parts of that."""

    name: str
    lead_days: int
    slow: tuple[float, float]
    lead_note: str = ""
    contact: str = ""
    note: str = ""


SUPPLIERS = (
    Firm(
        "Thistlemoor Lacquer Works",
        35,
        (0.95, 1.6),
        lead_note="Coats once a fortnight; lots come late in winter.",
        contact="orders@thistlemoor.example",
    ),
    Firm("Quernstone Stylus Bench", 21, (0.8, 1.3), contact="bench@quernstone.example"),
    Firm("Marrowby Gases", 3, (1.0, 1.0), contact="by telephone, before noon", note="Rings before it delivers."),
    Firm("Peverelle Workshop Supply", 5, (0.6, 1.5), contact="counter@peverelle.example"),
)


@dataclass(frozen=True)
class Shelf:
    """How this room keeps one item of the starter list. Quantities in the item's unit, cost in the room's currency.

    first: on hand on the first day; ample: ordered when less is usable; order: so much at a time, in packs of `pack`;
    supplier: place in SUPPLIERS; place: where it stands.
    """

    item: str
    minimum: int
    shelf_days: int | None
    supplier: int
    cost: str
    first: int
    ample: int
    order: int
    pack: int
    place: str


SHELVES = (
    Shelf("14-inch blank", 20, 540, 0, "31.50", 150, 145, 105, 5, "Blank store, left"),
    Shelf("12-inch blank", 4, 540, 0, "24.00", 20, 10, 15, 5, "Blank store, right"),
    Shelf("10-inch blank", 8, 540, 0, "19.00", 40, 22, 25, 5, "Blank store, right"),
    Shelf("Cutting stylus", 2, None, 1, "88.00", 6, 4, 4, 1, "Drawer under the microscope"),
    Shelf("Wiping solvent", 1000, 1095, 3, "0.0120", 3000, 1500, 2500, 2500, "Flammables cupboard"),
    Shelf("Vacuum pump oil", 500, 1825, 3, "0.0180", 1500, 800, 1000, 1000, "Pump corner"),
    Shelf("Chip hose", 2000, None, 3, "0.0040", 6000, 3000, 5000, 5000, "Pump corner"),
    Shelf("Chip trap filter", 2, None, 3, "14.20", 6, 3, 5, 1, "Pump corner"),
    Shelf("Vacuum pump filter", 1, None, 3, "19.80", 3, 2, 2, 1, "Pump corner"),
    Shelf("Talc", 200, None, 3, "0.0300", 600, 300, 500, 500, "Bench, top shelf"),
    Shelf("Lint-free wipes", 100, None, 3, "0.0600", 500, 200, 400, 100, "Bench, top shelf"),
)

#: What suppliers say when they are asked.
EXCUSES = (
    "the coating line stood still for a week",
    "a batch failed their own look-over",
    "it is packed and waits for the van",
    "their storeman is away until Monday",
)

#: Invented records and the invented people they are cut for; taken in turn.
FIRST_WORDS = (
    "Copper", "Seven", "Lantern", "Hollow", "Paper", "Quiet", "Ember", "Velvet", "Thistle", "Winter", "Marble",
    "Harbour", "Feather", "Saffron", "Ticking", "Moth", "Gravel", "Borrowed", "Salt", "Evening",
)  # fmt: skip
SECOND_WORDS = (
    "Weather", "Orchards", "Staircase", "Choir", "Machines", "Letters", "Horses", "Geometry", "Islands", "Tramlines",
    "Almanac", "Bells", "Parade", "Kites", "Arithmetic", "Furnaces", "Gardens", "Signals",
)  # fmt: skip
CUSTOMERS = (
    "Pondlight Records", "The Ninefold Press", "Umberquill", "Gannet & Daughter", "Oddfellow Tapes",
    "Larkvane Sound Society", "Fogbell Editions", "Wicket Lane Discs",
)  # fmt: skip

#: What this room expects of a fresh edge.
EXPECTED = {"expected_h": 12.0, "sureness": "fair"}

#: Invented too: who re-laps styli, who plates the masters, and who takes them there.
LAPPER, PLATER = "Vesper & Rill, lapidaries", "Hollowmere Electroforming"
CARRIERS = ("the Tuesday van", "Cobble Couriers", "taken by hand")
LAPPING_PRICE = Decimal("46.00")
#: What the room says things cost, and from when on it calls a silent groove noisy.
COSTS = {
    "gas_side": Decimal("1.35"),
    "care_hour": Decimal("4.20"),
    "change_stylus": Decimal("18.00"),
    "spoiled_side": Decimal("45.00"),
}
NOISE_LIMIT_DB = -56.0

#: One in so many sides is rejected; one lot in so many is a poor one.
REJECTED_SHARE = 0.06
POOR_LOT_SHARE = 0.12


@dataclass(frozen=True)
class Job:
    """What a kind of booking needs, and how often it comes."""

    weight: float
    labels: str
    disc_in: int
    speed: str
    minutes: tuple[float, float]
    width_um: tuple[float, float]
    land_um: tuple[float, float]


JOBS = (
    Job(0.62, "AB", 12, "33", (15.5, 22.0), (52, 64), (10, 16)),
    Job(0.13, "ABCD", 12, "33", (13.0, 18.5), (54, 68), (12, 20)),
    Job(0.10, "AB", 12, "45", (9.0, 12.0), (66, 84), (18, 30)),
    Job(0.12, "AB", 7, "45", (2.8, 4.2), (54, 62), (10, 16)),
    Job(0.03, "AB", 10, "33", (9.0, 13.0), (52, 60), (10, 15)),
)
