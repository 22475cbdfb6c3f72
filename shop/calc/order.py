"""What comes before what: an order, a loop if there is one, and everything that a thing rests on.

`needs` names for each thing those that come right before it: `{"fit": ["look", "wash"]}`. What is named only as a need
needs nothing itself. Things are whatever can be a key; where several may come next, the one that was given first does.
"""

from collections.abc import Collection, Hashable, Iterable, Mapping
from typing import TypeVar

Thing = TypeVar("Thing", bound=Hashable)

Needs = Mapping[Thing, Collection[Thing]]


def _in_order_given(needs: Needs[Thing]) -> dict[Thing, int]:
    """Each thing and its place: first those that are keys, then those named only as a need."""
    things = dict.fromkeys([*needs, *(before for those in needs.values() for before in those)])
    return {thing: place for place, thing in enumerate(things)}


def find_loop(needs: Needs[Thing]) -> list[Thing]:
    """One loop, each thing followed by one that it needs, the last needing the first; empty if there is none.

    A thing that needs itself is a loop of one.
    """
    done: set[Thing] = set()
    for start in _in_order_given(needs):
        path: dict[Thing, None] = {}
        ways = [iter([start])]
        while ways:
            thing = next(ways[-1], None)
            if thing is None:
                ways.pop()
                if path:
                    done.add(path.popitem()[0])
            elif thing in path:
                along = list(path)
                return along[along.index(thing) :]
            elif thing not in done:
                path[thing] = None
                ways.append(iter(needs.get(thing, ())))
    return []


def in_order(needs: Needs[Thing]) -> list[Thing]:
    """All things, each after what it needs, else as they were given. Raises ValueError over a loop."""
    place = _in_order_given(needs)
    waits = {thing: set(needs.get(thing, ())) for thing in place}
    said: list[Thing] = []
    while waits:
        thing = next((one for one, before in waits.items() if not before), None)
        if thing is None:
            raise ValueError(f"needs goes round in a loop: {find_loop(needs)}")
        said.append(thing)
        del waits[thing]
        for before in waits.values():
            before.discard(thing)
    return said


def rests_on(things: Iterable[Thing], needs: Needs[Thing]) -> set[Thing]:
    """Everything that has to come before these, however far back, without these themselves unless one rests on another.

    In a loop each thing rests on itself.
    """
    found: set[Thing] = set()
    ahead = [before for thing in things for before in needs.get(thing, ())]
    while ahead:
        thing = ahead.pop()
        if thing not in found:
            found.add(thing)
            ahead += needs.get(thing, ())
    return found


def levels(needs: Needs[Thing]) -> dict[Thing, int]:
    """How many things come one after the other before each: 0 for one that needs nothing. ValueError over a loop."""
    found: dict[Thing, int] = {}
    for thing in in_order(needs):
        found[thing] = 1 + max((found[before] for before in needs.get(thing, ())), default=-1)
    return found


def way_to(ends: Collection[Thing], needs: Needs[Thing]) -> list[Thing]:
    """These and everything they rest on, in an order in which it can be done. ValueError over a loop."""
    wanted = {*ends, *rests_on(ends, needs)}
    return [thing for thing in in_order(needs) if thing in wanted]


def without(left_out: Collection[Thing], needs: Needs[Thing]) -> dict[Thing, list[Thing]]:
    """What each of the others needs once some are left out: whoever needs one of those needs what that one needs."""
    found: dict[Thing, list[Thing]] = {}
    for thing in _in_order_given(needs):
        if thing in left_out:
            continue
        straight: dict[Thing, None] = {}
        seen: set[Thing] = set()
        ahead = list(needs.get(thing, ()))[::-1]
        while ahead:
            before = ahead.pop()
            if before not in left_out:
                straight[before] = None
            elif before not in seen:
                seen.add(before)
                ahead += list(needs.get(before, ()))[::-1]
        found[thing] = list(straight)
    return found


def straight(needs: Needs[Thing]) -> dict[Thing, list[Thing]]:
    """What each needs right before it, leaving out what another of its needs rests on already. For drawing.

    ValueError over a loop, in which everything would be left out.
    """
    in_order(needs)
    found = {}
    for thing in _in_order_given(needs):
        right_before = list(dict.fromkeys(needs.get(thing, ())))
        further = rests_on(right_before, needs)
        found[thing] = [before for before in right_before if before not in further]
    return found
