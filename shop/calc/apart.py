"""What should not stand together: groups of things, rules with their reason and source, and what breaks one where.

A rule here is a reason to look, never leave to do otherwise: the supplier's safety data and the local fire code decide.
Where two places only lie within each other, nothing is known of how far apart things stand in them.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import combinations

ACID, BASE, AMINE, OXIDISER = "acid", "base", "amine", "oxidiser"
NITROCELLULOSE, FLAMMABLE_LIQUID, COMBUSTIBLE = "nitrocellulose", "flammable-liquid", "combustible"
CYLINDER, FULL_CYLINDER, EMPTY_CYLINDER = "gas-cylinder", "full-cylinder", "empty-cylinder"

#: Groups that a substance may be put in, in words.
GROUPS: dict[str, str] = {
    ACID: "acid",
    BASE: "base (alkali)",
    AMINE: "amine, or holds ammonia",
    OXIDISER: "oxidiser",
    NITROCELLULOSE: "nitrocellulose: blanks, chip",
    FLAMMABLE_LIQUID: "flammable liquid",
    COMBUSTIBLE: "burns easily: oil, wipes, paper, packing",
    CYLINDER: "gas in a cylinder",
}
#: Groups that follow from how a thing is kept, in words.
KEPT_AS: dict[str, str] = {FULL_CYLINDER: "full or part-full cylinder", EMPTY_CYLINDER: "empty cylinder"}

HEAT, SPARK, CLOSED = "heat", "spark", "closed"
#: What a place may be, in words.
TRAITS: dict[str, str] = {
    HEAT: "something that gets hot or burns",
    SPARK: "something that may spark",
    CLOSED: "air that does not change",
}

#: The group that an H statement puts a substance in. GHS rev. 9, annex 3.
_BY_STATEMENT: dict[str, str] = {
    **dict.fromkeys(("H224", "H225", "H226"), FLAMMABLE_LIQUID),
    **dict.fromkeys(("H270", "H271", "H272"), OXIDISER),
    **dict.fromkeys(("H280", "H281"), CYLINDER),
    "H228": COMBUSTIBLE,
}


def groups_of(named: Iterable[str], statements: Iterable[str], *, is_gas: bool = False) -> frozenset[str]:
    """The groups a substance is in: those it was put in, and those that its H statements (or being a gas) put it in.

    named: keys of GROUPS; ValueError for another. statements: codes such as "H225"; those that say nothing of
    standing apart are passed over.
    """
    told = set(named)
    if unknown := told - set(GROUPS):
        raise ValueError(f"named must be of {', '.join(GROUPS)}, not {sorted(unknown)[0][:30]!r}.")
    told |= {_BY_STATEMENT[code] for code in statements if code in _BY_STATEMENT}
    return frozenset(told | ({CYLINDER} if is_gas else set()))


class Standing(Enum):
    """How well a rule is founded."""

    READ = "read in the source"
    SECOND_HAND = "second-hand"
    PRACTICE = "common practice, no source"
    MEMORY = "widely said; no source was read"


@dataclass(frozen=True)
class Rule:
    """That things of one group should not stand with those of another, or where a place has a trait.

    one: a group; other: a group or a trait; limits: how far the source speaks of a room like this.
    """

    key: str
    one: str
    other: str
    reason: str
    source: str
    standing: Standing
    limits: str = ""

    @property
    def is_founded(self) -> bool:
        """Whether somebody wrote it down where it could be read."""
        return self.standing in (Standing.READ, Standing.SECOND_HAND)


_ICSC = "International Chemical Safety Card 1560, nitrocellulose (2016)"
_PRODUCERS = "a nitrocellulose producer's page on its handling"
_WAC = "Washington Administrative Code 296-24-68203(2)"
_WELDING = "The rule is written for cylinders of welding gas and the like; taken here as a guide for nitrogen."
_P210 = "GHS, annex 3: precautionary statement P210"

RULES: tuple[Rule, ...] = (
    Rule(
        "nitrocellulose-acid",
        NITROCELLULOSE,
        ACID,
        "Acid breaks nitrocellulose down; it warms, gives off fumes, and may catch fire by itself.",
        f"{_ICSC}; {_PRODUCERS}",
        Standing.READ,
    ),
    Rule(
        "nitrocellulose-base",
        NITROCELLULOSE,
        BASE,
        "Alkali breaks nitrocellulose down; it warms, gives off fumes, and may catch fire by itself.",
        f"{_ICSC}; {_PRODUCERS}",
        Standing.READ,
    ),
    Rule(
        "nitrocellulose-amine",
        NITROCELLULOSE,
        AMINE,
        "Amines and ammonia, also in cleaners, break nitrocellulose down; it may catch fire by itself.",
        _PRODUCERS,
        Standing.SECOND_HAND,
    ),
    Rule(
        "nitrocellulose-oxidiser",
        NITROCELLULOSE,
        OXIDISER,
        "An oxidiser makes what burns fiercely already burn more fiercely still, and may set it off.",
        f"{_ICSC}; {_PRODUCERS}",
        Standing.READ,
    ),
    Rule(
        "nitrocellulose-heat",
        NITROCELLULOSE,
        HEAT,
        "Heat and flame set nitrocellulose off, and it burns without air: no cover and no lid stops it.",
        _ICSC,
        Standing.READ,
    ),
    Rule(
        "nitrocellulose-spark",
        NITROCELLULOSE,
        SPARK,
        "A spark, friction or static charge can set dry nitrocellulose off.",
        _ICSC,
        Standing.READ,
    ),
    Rule(
        "nitrocellulose-solvent",
        NITROCELLULOSE,
        FLAMMABLE_LIQUID,
        "Vapour carries a flame to the lacquer and burning lacquer sets off the solvent: a fire in one takes both.",
        "",
        Standing.PRACTICE,
    ),
    Rule(
        "solvent-heat",
        FLAMMABLE_LIQUID,
        HEAT,
        "Heat makes more vapour, and a flame or a hot surface lights it; vapour creeps along the floor to it.",
        _P210,
        Standing.READ,
    ),
    Rule(
        "solvent-spark",
        FLAMMABLE_LIQUID,
        SPARK,
        "A spark lights the vapour, which is heavier than air and gathers low down.",
        _P210,
        Standing.READ,
    ),
    Rule(
        "solvent-oxidiser",
        FLAMMABLE_LIQUID,
        OXIDISER,
        "An oxidiser can light a flammable liquid, and feeds its fire.",
        "",
        Standing.MEMORY,
    ),
    Rule(
        "combustible-oxidiser",
        COMBUSTIBLE,
        OXIDISER,
        "Soaked with an oxidiser, wipes, paper and oil may catch fire by themselves.",
        "",
        Standing.MEMORY,
    ),
    Rule(
        "acid-base",
        ACID,
        BASE,
        "Acid and alkali that meet heat up and spatter.",
        "",
        Standing.MEMORY,
    ),
    Rule(
        "cylinder-closed",
        CYLINDER,
        CLOSED,
        "What leaks gathers where the air does not change: whoever opens the door or leans in breathes it, and nothing "
        "warns of it.",
        _WAC,
        Standing.READ,
        _WELDING,
    ),
    Rule(
        "cylinder-heat",
        CYLINDER,
        HEAT,
        "Heat raises the pressure in a cylinder; in a fire it may burst.",
        _WAC,
        Standing.READ,
        _WELDING,
    ),
    *(
        Rule(
            f"cylinder-{name}",
            CYLINDER,
            group,
            "A fire beside a cylinder heats it until it may burst: 20 ft (6.1 m) apart indoors is asked for from what "
            "burns as easily as oil or wood wool.",
            _WAC,
            Standing.READ,
            _WELDING,
        )
        for name, group in (("nitrocellulose", NITROCELLULOSE), ("solvent", FLAMMABLE_LIQUID), ("fuel", COMBUSTIBLE))
    ),
    Rule(
        "cylinder-full-empty",
        FULL_CYLINDER,
        EMPTY_CYLINDER,
        "Full and empty together, an empty one is taken for full in a hurry, or a full one sent back.",
        "two universities' pages on gas cylinders (Iowa; Tulane)",
        Standing.SECOND_HAND,
    ),
)


@dataclass(frozen=True)
class Spot:
    """A place: within which other, if any, and its traits."""

    id: int
    within: int | None = None
    traits: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Thing:
    """Something kept in a place, and the groups it is in."""

    id: int
    place: int
    groups: frozenset[str]


@dataclass(frozen=True)
class Finding:
    """That a rule is broken: `thing` with `other`, or with what the place `at` is, where `other` is None.

    at: the inner of the two places where they differ.
    """

    rule: Rule
    thing: Thing
    other: Thing | None
    at: int

    @property
    def key(self) -> str:
        """The same as long as the same things stand in the same places."""
        first = f"{self.rule.key}-{self.thing.place}.{self.thing.id}"
        return f"{first}-{self.other.place}.{self.other.id}" if self.other is not None else f"{first}-{self.at}"


def around(spots: Mapping[int, Spot], place: int) -> list[int]:
    """A place and those it lies in, from the inside out. ValueError for one that is not there, or lies in itself."""
    found: list[int] = []
    at: int | None = place
    while at is not None:
        if at not in spots:
            raise ValueError(f"place must be one of the spots, not {at}.")
        if at in found:
            raise ValueError(f"place {at} must not lie within itself.")
        found.append(at)
        at = spots[at].within
    return found


def findings(spots: Iterable[Spot], things: Sequence[Thing]) -> list[Finding]:
    """Every rule that is broken by two things in one place or in places within each other, or by a thing and such a
    place; by the order of RULES.

    Of several places with the same trait around a thing, the nearest counts. Things in two cupboards of one room are
    not held against each other. ValueError for a thing whose place is not among the spots.
    """
    by_id = {spot.id: spot for spot in spots}
    chains = {place: around(by_id, place) for place in by_id}
    for thing in things:
        if thing.place not in chains:
            raise ValueError(f"things must be in one of the spots, not in {thing.place}.")
    found = [*_pairs(things, chains), *_in_places(things, by_id, chains)]
    order = {rule.key: place for place, rule in enumerate(RULES)}
    return sorted(found, key=lambda one: order[one.rule.key])


def _pairs(things: Sequence[Thing], chains: Mapping[int, list[int]]) -> Iterator[Finding]:
    for one, other in combinations(things, 2):
        if one.place in chains[other.place]:
            inner = other.place
        elif other.place in chains[one.place]:
            inner = one.place
        else:
            continue
        for rule in RULES:
            if rule.one in one.groups and rule.other in other.groups:
                yield Finding(rule, one, other, inner)
            elif rule.one in other.groups and rule.other in one.groups:
                yield Finding(rule, other, one, inner)


def _in_places(
    things: Sequence[Thing], spots: Mapping[int, Spot], chains: Mapping[int, list[int]]
) -> Iterator[Finding]:
    for thing in things:
        outwards = chains[thing.place]
        inwards = sorted(place for place, chain in chains.items() if thing.place in chain[1:])
        for rule in RULES:
            if rule.one not in thing.groups or rule.other not in TRAITS:
                continue
            # what a cylinder stands in may be closed; a closed cupboard beside it, in the same room, does it nothing
            near = outwards if rule.other == CLOSED else [*outwards, *inwards]
            at = next((place for place in near if rule.other in spots[place].traits), None)
            if at is not None:
                yield Finding(rule, thing, None, at)
