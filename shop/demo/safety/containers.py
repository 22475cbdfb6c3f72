"""What stands open in the demo room: two bottles, their levels weighed now and then."""

from datetime import datetime, timedelta

from shop import clock
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import Place, Substance

CUPBOARD = "Flammables cupboard"
#: By slug: what it holds in ml, its weight full in g, how many days ago it was opened, and the share left so many days
#: after its opening.
BOTTLES = {
    "acetone": (500, 655.0, 152, ((30, 0.88), (61, 0.79), (92, 0.66), (124, 0.57))),
    "propan-2-ol": (1000, 1145.0, 47, ((9, 0.86), (16, 0.79), (23, 0.66), (30, 0.58), (38, 0.47))),
}
#: By slug: used within so many days of opening, and where that is from.
LIMITS = {"acetone": (160, "our own figure: it takes up water"), "propan-2-ol": (180, "our own figure")}


def open_bottles(hands: Hands, eve: datetime, *, engineer: Person, assistant: Person) -> None:
    """Write down, as of the days on which it was, what was opened and how much was left. eve: this morning."""
    cupboard = Place.objects.filter(name=CUPBOARD).first()
    for substance in Substance.objects.filter(slug__in=BOTTLES):
        if cupboard is None:
            return
        holds, full_g, ago, levels = BOTTLES[substance.slug]
        opened = eve - timedelta(days=ago, hours=-2)
        one = hands.do(
            actions.open_container,
            by=assistant,
            substance=substance,
            place=cupboard,
            nominal_ml=holds,
            full_g=full_g,
            at=opened,
        )
        one.refresh_from_db()
        for days, share in levels:
            liquid = (one.density_kg_m3 or 0) * share * holds / 1000
            hands.do(
                actions.read_level,
                by=assistant,
                container=one,
                gross_g=round((one.tare_g or 0) + liquid, 1),
                at=opened + timedelta(days=days),
            )
        days, because = LIMITS[substance.slug]
        with clock.moved(opened):
            hands.do(actions.set_open_days, by=engineer, substance=substance, days=days, because=because)
