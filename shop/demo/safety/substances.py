"""What the demo room keeps that can hurt: the starter substances made its own, and two of its own besides."""

from dataclasses import replace

from shop.demo.hands import Hands
from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import Form, Substance
from shop.safety.rules.substances import SubstanceFacts, WantedHazard, WantedStatement
from shop.stock.models import Item, Supplier

#: Who supplies what, by the beginning of the firm's name.
FROM = {
    "lacquer-blanks": "Thistlemoor",
    "propan-2-ol": "Peverelle",
    "acetone": "Peverelle",
    "nitrogen": "Marrowby",
    "vacuum-pump-oil": "Peverelle",
    "talc": "Peverelle",
}
_SHEET = "the supplier's sheet, section 2"
#: A cleaner with ammonia, which must not stand by the blanks.
CLEANER = SubstanceFacts(
    name="Glass cleaner",
    form=Form.LIQUID,
    what_for="Cleans the microscope and the window.",
    groups=("amine",),
    note="It holds ammonia.",
)
#: Not classed yet, and so a note on today's page.
POLISH = SubstanceFacts(name="Metal polish", form=Form.LIQUID, what_for="Polishes the platter, now and then.")


def write_down_substances(hands: Hands, engineer: Person) -> None:
    """Give the starter substances their suppliers, and write down two that only this room keeps."""
    firms = {firm.name.split()[0]: firm for firm in Supplier.objects.all()}
    for one in Substance.objects.filter(slug__in=FROM).prefetch_related("items"):
        hands.do(
            actions.change_substance,
            by=engineer,
            substance=one,
            version=one.version,
            facts=replace(_facts_of(one), supplier=firms[FROM[one.slug]]),
        )
    cleaner = hands.do(actions.add_substance, by=engineer, facts=replace(CLEANER, supplier=firms["Peverelle"]))
    lines = [WantedHazard("eyes", "2", "H319", _SHEET), WantedHazard("skin", "2", "H315", _SHEET)]
    hands.do(actions.classify_substance, by=engineer, substance=cleaner, version=1, lines=lines)
    hands.do(
        actions.change_statements,
        by=engineer,
        substance=cleaner,
        version=2,
        lines=[WantedStatement("P102", source=_SHEET), WantedStatement("P305+P351+P338", source=_SHEET)],
    )
    hands.do(actions.add_substance, by=engineer, facts=POLISH)


def _facts_of(one: Substance) -> SubstanceFacts:
    """What is written down of it, as its form would send it back."""
    names = [name for name in SubstanceFacts.__dataclass_fields__ if name not in ("items", "groups")]
    items: tuple[Item, ...] = tuple(one.items.all())
    return SubstanceFacts(**{name: getattr(one, name) for name in names}, items=items, groups=tuple(one.groups))
