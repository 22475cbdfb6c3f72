"""Where the demo room keeps what can hurt. Its limits are invented, like the room."""

from dataclasses import dataclass, field
from datetime import timedelta

from shop import clock
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.safety import actions, queries
from shop.safety.actions import PlaceFacts, Wanted
from shop.safety.models import LimitBy, Place, Substance

ROOM, BENCH, STORE = "Cutting room", "Lathe bench", "Blank store"


@dataclass(frozen=True)
class Spot:
    """A place of the room. kept: by the slug of the substance, in its stored unit; None where nobody weighed it."""

    facts: PlaceFacts
    within: str = ""
    kept: dict[str, int | None] = field(default_factory=dict)
    empties: tuple[str, ...] = ()


SPOTS = (
    Spot(
        PlaceFacts(
            ROOM,
            volume_m3=46.0,
            air_changes_h=1.5,
            limit_ml=20_000,
            limit_by=LimitBy.INSURER,
            limit_note="the policy's letter of the spring, page 2",
            note="Two walls of cork, one window to the yard.",
        )
    ),
    Spot(
        PlaceFacts(BENCH, has_heat=True, note="The lathe, its head and the chip trap under it."), ROOM, {"cut-chip": 40}
    ),
    Spot(
        PlaceFacts("Flammables cupboard", closed=True, note="Steel, by the door; the key hangs in the office."),
        ROOM,
        {"acetone": 1000, "propan-2-ol": 5000},
    ),
    Spot(
        PlaceFacts("Cylinder corner", note="Chained to the wall on both sides of the window."),
        ROOM,
        {"nitrogen": 100_000},
    ),
    Spot(
        PlaceFacts("Pump corner", has_spark=True, note="Behind the partition."),
        ROOM,
        {"vacuum-pump-oil": 1500, "leadscrew-oil": 250},
    ),
    Spot(PlaceFacts("Bench, top shelf"), ROOM, {"talc": 600}),
    Spot(
        PlaceFacts(STORE, volume_m3=11.0, closed=True, note="Off the passage; no window."), "", {"lacquer-blanks": None}
    ),
    Spot(
        PlaceFacts("Yard shed", note="Out of doors, open at the top. Empty cylinders wait here."), "", {}, ("nitrogen",)
    ),
)
ANSWER = "The trap is metal and emptied wet each evening; it is opened only once the head is cold."
#: Put down in the wrong place some days ago.
STRAY = "Glass cleaner"


def write_down_places(hands: Hands, engineer: Person) -> None:
    """The places, what is kept in each, and what the room knows of the chip by the lathe."""
    substances = {one.slug: one for one in Substance.objects.all()}
    made: dict[str, Place] = {}
    for spot in SPOTS:
        facts = {**vars(spot.facts), "within": made.get(spot.within)}
        place = hands.do(actions.add_place, by=engineer, facts=PlaceFacts(**facts))
        wanted = [Wanted(substances[slug], amount) for slug, amount in spot.kept.items() if slug in substances]
        wanted += [Wanted(substances[slug], empties=True) for slug in spot.empties if slug in substances]
        if wanted:
            place = hands.do(actions.change_kept, by=engineer, place=place, version=place.version, kept=wanted)
        made[spot.facts.name] = place
    until = clock.today() + timedelta(days=180)
    for one in queries.layout().together:
        if one.at.name == BENCH:
            hands.do(actions.answer_finding, by=engineer, key=one.key, because=ANSWER, until=until)


def misplace(hands: Hands, engineer: Person) -> None:
    """Somebody put the glass cleaner, which holds ammonia, by the blanks, and it was written down there."""
    stray = Substance.objects.filter(name=STRAY).first()
    store = Place.objects.get(name=STORE)
    if stray is not None:
        kept = [Wanted(one.substance, one.amount, one.empties, one.note) for one in store.kept.all()]
        wanted = [*kept, Wanted(stray, 500)]
        hands.do(actions.change_kept, by=engineer, place=store, version=store.version, kept=wanted)
