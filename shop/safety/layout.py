"""What is kept where: totals of flammable liquid, and what stands together and should not.

Worked out from rows that somebody else read: `shop.safety.queries.places` for the pages, `shop.safety.concerns.places`
for the worries.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from shop.calc import apart, flammables
from shop.concern import Grade
from shop.safety.models import FindingAnswer, Form, Kept, Place

#: The trait that each tick of a place stands for.
_TRAITS = {"closed": apart.CLOSED, "has_heat": apart.HEAT, "has_spark": apart.SPARK}


#: CAS number.
NITROGEN = "7727-37-9"


@dataclass(frozen=True)
class Held:
    """One substance kept in a place, with the H statements of its classification."""

    kept: Kept
    codes: frozenset[str]

    @property
    def name(self) -> str:
        named = self.kept.substance.name
        return f"{named}, empty cylinders" if self.kept.empties else named

    @property
    def counted_ml(self) -> int:
        """Of a liquid: what stands open there by its last levels, and the stock of it where that stands there too."""
        return (getattr(self.kept, "open_ml", 0) or 0) + (getattr(self.kept, "stock_ml", 0) or 0)

    @property
    def amount(self) -> int | None:
        """How much of it there is: what is written down, or what is counted, whichever is more; None where neither
        says. In the unit of Kept."""
        if self.kept.substance.form != Form.LIQUID or not self.counted_ml:
            return self.kept.amount
        return max(self.kept.amount or 0, self.counted_ml)

    @property
    def category(self) -> int | None:
        """The category of flammable liquid it counts as; None if it is none."""
        return flammables.category_of(self.codes) if self.kept.substance.form == Form.LIQUID else None

    @property
    def groups(self) -> frozenset[str]:
        """What it is for standing apart. Slugs that the program knows no more are passed over."""
        named = [slug for slug in self.kept.substance.groups if slug in apart.GROUPS]
        found = apart.groups_of(named, self.codes, is_gas=self.kept.substance.form == Form.GAS)
        if apart.CYLINDER not in found:
            return found
        return found | {apart.EMPTY_CYLINDER if self.kept.empties else apart.FULL_CYLINDER}


@dataclass(frozen=True)
class Together:
    """That something stands with, or in, what it should be kept apart from; answer: why, where the shop knows of it."""

    finding: apart.Finding
    thing: Held
    other: Held | None
    at: Place
    places: Mapping[int, Place]
    answer: FindingAnswer | None = None

    @property
    def key(self) -> str:
        return self.finding.key

    @property
    def rule(self) -> apart.Rule:
        return self.finding.rule

    @property
    def grade(self) -> Grade:
        """Care; a note where nobody could be read who asks for it."""
        return Grade.CARE if self.rule.is_founded else Grade.NOTE

    @property
    def short(self) -> str:
        """The two of them: "Acetone with Cut chip"."""
        if self.other is not None:
            return f"{self.thing.name} with {self.other.name}"
        return f"{self.thing.name} where there is {apart.TRAITS[self.rule.other]}"

    @property
    def words(self) -> str:
        """What is kept where: "“Cutting room” holds Descaler, and “Shelf” within it Blanks"."""
        here = self.places[self.thing.kept.place_id].name
        if self.other is None:
            trait = apart.TRAITS[self.rule.other]
            if self.at.pk == self.thing.kept.place_id:
                return f"“{here}” holds {self.thing.name}, and {trait}"
            return f"“{here}” holds {self.thing.name}, and “{self.at.name}”, {self._lies(self.at)}, {trait}"
        beside = self.places[self.other.kept.place_id].name
        if here == beside:
            return f"“{here}” holds {self.thing.name} and {self.other.name}"
        other_place = self.places[self.other.kept.place_id]
        return f"“{here}” holds {self.thing.name}, and “{beside}”, {self._lies(other_place)}, {self.other.name}"

    def _lies(self, place: Place) -> str:
        """Whether another place lies within the thing's or around it."""
        outwards: int | None = place.pk
        while outwards is not None and outwards != self.thing.kept.place_id:
            outwards = self.places[outwards].within_id if outwards in self.places else None
        return "around it" if outwards is None else "within it"

    @property
    def source(self) -> str:
        """Where the rule is from, and how well that was read."""
        if not self.rule.source:
            return f"{self.rule.standing.value.capitalize()}."
        return f"{self.rule.source}, {self.rule.standing.value}. {self.rule.limits}".strip()


@dataclass(frozen=True)
class Total:
    """Flammable liquid in a place and within it, in ml. unknown: how many of them have no amount written down."""

    by_category: Mapping[int, int]
    unknown: int

    @property
    def ml(self) -> int:
        """Of the categories that count, 1 to 3."""
        return sum(ml for category, ml in self.by_category.items() if category in flammables.COUNTED)

    @property
    def is_any(self) -> bool:
        return bool(self.by_category) or self.unknown > 0

    def ml_of(self, categories: Sequence[int]) -> int:
        return sum(ml for category, ml in self.by_category.items() if category in categories)


class Layout:
    """The places there are, what is kept in each, and what follows from it."""

    def __init__(self, places: Iterable[Place], held: Iterable[Held], answers: Mapping[str, FindingAnswer]) -> None:
        """answers: those in force, by the key of what they answer."""
        self.places = {place.pk: place for place in places}
        self.held = [one for one in held if one.kept.place_id in self.places]
        self.answers = answers

    @cached_property
    def _inside(self) -> dict[int | None, list[Place]]:
        """The places that lie directly within each; under None those that lie in no other."""
        found: dict[int | None, list[Place]] = defaultdict(list)
        for place in sorted(self.places.values(), key=lambda one: one.name.casefold()):
            found[place.within_id if place.within_id in self.places else None].append(place)
        return found

    @cached_property
    def _chains(self) -> dict[int, list[int]]:
        spots = {spot.id: spot for spot in self._spots()}
        return {pk: apart.around(spots, pk) for pk in self.places}

    def _spots(self) -> list[apart.Spot]:
        return [
            apart.Spot(
                id=place.pk,
                within=place.within_id if place.within_id in self.places else None,
                traits=frozenset(trait for tick, trait in _TRAITS.items() if getattr(place, tick)),
            )
            for place in self.places.values()
        ]

    def tree(self) -> list[tuple[int, Place]]:
        """Every place with how deep it lies, what is within a place right after it."""
        found: list[tuple[int, Place]] = []

        def walk(within: int | None, depth: int) -> None:
            for place in self._inside[within]:
                found.append((depth, place))
                walk(place.pk, depth + 1)

        walk(None, 0)
        return found

    def around(self, place: Place) -> list[Place]:
        """The places a place lies in, from the outside in, itself left out."""
        return [self.places[pk] for pk in reversed(self._chains[place.pk][1:])]

    def inside(self, place: Place) -> list[Place]:
        """The places directly within it."""
        return list(self._inside[place.pk])

    def kept_in(self, place: Place) -> list[Held]:
        """What is kept in the place itself."""
        return [one for one in self.held if one.kept.place_id == place.pk]

    def kept_within(self, place: Place) -> list[Held]:
        """What is kept in the place and in all that lie within it."""
        return [one for one in self.held if place.pk in self._chains[one.kept.place_id]]

    def total(self, place: Place) -> Total:
        """The flammable liquid in the place and within it."""
        by_category: dict[int, int] = defaultdict(int)
        unknown = 0
        for one in self.kept_within(place):
            if one.category is None or one.kept.empties:
                continue
            if one.amount is None:
                unknown += one.category in flammables.COUNTED
            else:
                by_category[one.category] += one.amount
        return Total(dict(sorted(by_category.items())), unknown)

    @cached_property
    def nitrogen_ml(self) -> int:
        """The water volume of full nitrogen cylinders written down as kept anywhere."""
        cylinders = (one.kept for one in self.held if one.kept.substance.cas == NITROGEN and not one.kept.empties)
        return sum(one.amount or 0 for one in cylinders)

    @cached_property
    def together(self) -> list[Together]:
        """Everything that stands with what it should be kept apart from, what no answer is in force for first."""
        things = [apart.Thing(one.kept.pk, one.kept.place_id, one.groups) for one in self.held]
        by_id = {one.kept.pk: one for one in self.held}
        found = [
            Together(
                finding=finding,
                thing=by_id[finding.thing.id],
                other=by_id[finding.other.id] if finding.other is not None else None,
                at=self.places[finding.at],
                places=self.places,
                answer=self.answers.get(finding.key),
            )
            for finding in apart.findings(self._spots(), things)
        ]
        return sorted(found, key=lambda one: (one.answer is not None, -one.grade))

    def together_in(self, place: Place) -> list[Together]:
        """Those of them that touch what is kept in the place or within it, or the place itself."""
        within = {pk for pk, chain in self._chains.items() if place.pk in chain}

        def touches(one: Together) -> bool:
            kept = [one.thing.kept, *([one.other.kept] if one.other is not None else [])]
            return one.at.pk in within or any(each.place_id in within for each in kept)

        return [one for one in self.together if touches(one)]

    def without_limit(self) -> list[Place]:
        """The outermost places that hold flammable liquid under no limit: none on them, around them, or where it is."""
        found: list[Place] = []
        for one in self.held:
            if one.category not in flammables.COUNTED or one.kept.empties:
                continue
            chain = [self.places[pk] for pk in self._chains[one.kept.place_id]]
            if all(place.limit_ml is None for place in chain) and chain[-1] not in found:
                found.append(chain[-1])
        return found
