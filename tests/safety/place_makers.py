"""Makers for places, and for the substances kept in them, which are made plainly: these tests are not about them."""

from typing import Any
from uuid import uuid4

from shop.calc import ghs
from shop.people.models import Person
from shop.safety import actions
from shop.safety.actions import PlaceFacts, Wanted
from shop.safety.models import ExposureLimit, Form, Hazard, LimitKind, Place, Substance
from tests.makers import anyway

#: slug: name, form, CAS number, H statements, groups
KINDS: dict[str, tuple[str, str, str, tuple[str, ...], tuple[str, ...]]] = {
    "acetone": ("Acetone", Form.LIQUID, "67-64-1", ("H225", "H319", "H336"), ()),
    "alcohol": ("Isopropyl alcohol", Form.LIQUID, "67-63-0", ("H225", "H319", "H336"), ()),
    "spirit": ("Cleaning spirit", Form.LIQUID, "", ("H226",), ()),
    "blanks": ("Blanks", Form.SOLID, "", (), ("nitrocellulose",)),
    "descaler": ("Descaler", Form.LIQUID, "", (), ("acid",)),
    "nitrogen": ("Nitrogen", Form.GAS, "7727-37-9", ("H280",), ()),
}


def substance(slug: str) -> Substance:
    """One of KINDS; made if it is not there yet."""
    name, form, cas, codes, groups = KINDS[slug]
    found, made = Substance.objects.get_or_create(
        slug=slug, defaults={"name": name, "form": form, "cas": cas, "groups": list(groups)}
    )
    if made:
        Hazard.objects.bulk_create(_line(found, code) for code in codes)
    return found


def _line(substance: Substance, code: str) -> Hazard:
    """The gravest class and category that has this statement."""
    of, category = ghs.classes_of(code)[0]
    return Hazard(substance=substance, hazard_class=of.slug, category=category.name, h_code=code)


def limit(slug: str, **other: Any) -> ExposureLimit:
    usual = {"body": "OSHA PEL", "kind": LimitKind.TWA, "ppm": 1000, "edition": "29 CFR 1910.1000, table Z-1"}
    return ExposureLimit.objects.create(substance=substance(slug), source="read", **usual | other)


def make_place(by: Person, name: str = "Cutting room", **facts: Any) -> Place:
    return anyway(actions.add_place, by=by, facts=PlaceFacts(name, **facts))


def keep(by: Person, place: Place, *slugs: str, empties: tuple[str, ...] = (), **amounts: float | None) -> Place:
    """Let these be all that is kept there: by name, or with an amount (acetone=2500)."""
    wanted = [Wanted(substance(slug), amount=amounts.get(slug)) for slug in (*slugs, *amounts)]
    wanted += [Wanted(substance(slug), empties=True) for slug in empties]
    place.refresh_from_db()
    return actions.change_kept(by=by, once=uuid4(), place=place, version=place.version, kept=wanted)
