"""What can be carried away: each app registers its lists, as it does its concerns.

A list goes out as its page shows it: narrowed by the same query, to the people who may look there.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import QuerySet

from shop.paging import walk

#: The most rows of an XLSX file: more would take longer than anybody waits. As CSV there is no end.
MOST_IN_WORKBOOK = 50_000

#: The rows of a file that a batch of rows of a table makes.
Lines = Iterable[Sequence[object]]


@dataclass(frozen=True)
class Export:
    """One list. rows: of it, narrowed as its page is by the same query; by: the order they come in.

    lines: of a batch of them; whole: the query by which nothing is left out, "" where that is so without one, None for
    what is carried away from its own page only. roles: who may look at its page, None for whoever has signed in;
    guarded: columns that only some roles see, by heading.
    """

    name: str
    title: str
    headings: tuple[str, ...]
    rows: Callable[[Mapping[str, Any]], QuerySet[Any]]
    by: tuple[str, ...]
    lines: Callable[[list[Any]], Lines]
    whole: str | None = ""
    roles: Collection[str] | None = None
    guarded: Mapping[str, Collection[str]] = field(default_factory=dict)

    def is_for(self, role: str) -> bool:
        """Whether a person of that role may have it."""
        return self.roles is None or role in self.roles

    def headings_for(self, role: str) -> tuple[str, ...]:
        return tuple(self.headings[place] for place in self._places(role))

    def is_long(self, query: Mapping[str, Any]) -> bool:
        """Whether it is more than a workbook is made for."""
        return self.rows(query).order_by(*self.by)[MOST_IN_WORKBOOK : MOST_IN_WORKBOOK + 1].exists()

    def batches(self, query: Mapping[str, Any], role: str) -> Iterator[Lines]:
        """The lines of it that a person of that role sees, batch by batch."""
        places = self._places(role)
        for rows in walk(self.rows(query), by=self.by):
            lines = self.lines(rows)
            yield lines if len(places) == len(self.headings) else ([line[place] for place in places] for line in lines)

    def _places(self, role: str) -> list[int]:
        """Of the columns that a person of that role sees."""
        return [place for place, heading in enumerate(self.headings) if role in self.guarded.get(heading, (role,))]


_registered: dict[str, tuple[Export, ...]] = {}


def register(area: str, exports: Iterable[Export]) -> None:
    """Let these lists be carried away, under the name of what they are about. Registering an area again replaces it."""
    _registered[area] = tuple(exports)


def find(name: str) -> Export | None:
    return next((export for exports in _registered.values() for export in exports if export.name == name), None)


def areas(role: str) -> dict[str, list[Export]]:
    """All whole lists that a person of that role may have, by what they are about."""
    found = {
        area: [export for export in exports if export.whole is not None and export.is_for(role)]
        for area, exports in _registered.items()
    }
    return {area: exports for area, exports in found.items() if exports}
