"""What a note can be about. Each app registers its own things, as it does its concerns: the log knows none of them."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from django.db.models import Case, CharField, F, IntegerField, Model, QuerySet, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast, Concat, Length
from django.urls import reverse

#: So many things are found at once; with more the words say too little.
MOST = 12
#: The longest text that is looked for.
LONGEST = 80


@dataclass(frozen=True)
class Sort:
    """A sort of thing. name: in the tables, and in addresses; label: as people call it; address: of its page, by name;
    key: the field that stands in that address.

    rows: all of them; code: the field by which people know one; named: how one is called where its sort stands beside.
    is_found: whether it is looked for by words; one that is not is linked from its own page.
    """

    name: str
    label: str
    model: type[Model]
    address: str
    code: str
    named: Callable[[], Combinable] | None = None
    key: str = "pk"
    is_found: bool = True

    def rows(self) -> QuerySet[Any]:
        """All of them, each with its sort, its key and what it is called."""
        called = self.named() if self.named is not None else F(self.code)
        return self.model._default_manager.order_by().annotate(
            sort_name=Value(self.name), found_key=Cast(F(self.key), CharField()), called=called
        )


@dataclass(frozen=True)
class Thing:
    """One thing that a note can be about. is_exact: it was found by all of its code."""

    sort: str
    key: str
    label: str
    is_exact: bool = field(default=False, compare=False)

    @property
    def ref(self) -> str:
        """As it stands in a form and in an address: "lot:12"."""
        return f"{self.sort}:{self.key}"

    @property
    def words(self) -> str:
        """Its sort and what it is called: "Stylus Q10", "Duty: Empty the trap". It may begin with that word already."""
        sort = label_of(self.sort)
        if self.label.casefold().startswith(sort.casefold()):
            return self.label
        return f"{sort}: {self.label}" if _is_name(self.sort) else f"{sort} {self.label}"

    @property
    def address(self) -> str:
        return address_of(self.sort, self.key)


_registered: dict[str, tuple[Sort, ...]] = {}


def register(app: str, sorts: Iterable[Sort]) -> None:
    """Let notes be about these. Registering an app again replaces it."""
    _registered[app] = tuple(sorts)
    _by_model.cache_clear()


def sorts() -> list[Sort]:
    return [sort for those in _registered.values() for sort in those]


def _sort(name: str) -> Sort | None:
    return next((sort for sort in sorts() if sort.name == name), None)


def label_of(name: str) -> str:
    found = _sort(name)
    return found.label if found else name.capitalize()


def _is_name(name: str) -> bool:
    """Whether such things are known by a name, not by a code."""
    found = _sort(name)
    return found is not None and found.code in ("name", "title")


def address_of(name: str, key: str) -> str:
    """The path of a thing's page; "" where nobody registers its sort."""
    found = _sort(name)
    return reverse(found.address, args=[key]) if found else ""


@cache
def _by_model() -> dict[type[Model], Sort]:
    return {sort.model: sort for sort in sorts()}


def ref_of(row: Model) -> str:
    """A row as it stands in a form and in an address: "lot:12". KeyError for a row nobody registers."""
    sort = _by_model()[type(row)]
    return f"{sort.name}:{row.pk if sort.key == 'pk' else getattr(row, sort.key)}"


def split(ref: str) -> tuple[str, str]:
    """Sort and key of a ref; either may be anything."""
    name, _, key = ref.partition(":")
    return name, key


# Finding --------------------------------------------------------------------------------------------------------------


def named(refs: Sequence[str]) -> list[Thing]:
    """The things with these refs, in their order; those that are not there are left out. One query."""
    wanted: dict[str, list[str]] = {}
    for ref in refs:
        name, key = split(ref)
        sort = _sort(name)
        if sort is None or len(key) > LONGEST or (sort.key == "pk" and not _is_number(key)):
            continue
        wanted.setdefault(name, []).append(key)
    arms = [sort.rows().filter(**{f"{sort.key}__in": wanted[sort.name]}) for sort in sorts() if sort.name in wanted]
    found = {thing.ref: thing for thing in _things(arms)}
    return [found[ref] for ref in dict.fromkeys(refs) if ref in found]


def _is_number(key: str) -> bool:
    return key.isascii() and key.isdigit() and len(key) < 19


def find(text: str) -> list[Thing]:
    """Things whose code or name has the text in it, however it is capitalised: first those whose code it is, then those
    whose code begins so. At most MOST and one. One query."""
    asked = " ".join(text.replace("\x00", " ").split())[:LONGEST]
    if not asked:
        return []
    arms = []
    for sort in sorts():
        if not sort.is_found:
            continue
        fits = Case(
            When(**{f"{sort.code}__iexact": asked}, then=Value(0)),
            When(**{f"{sort.code}__istartswith": asked}, then=Value(1)),
            default=Value(2),
            output_field=IntegerField(),
        )
        arms.append(sort.rows().annotate(fits=fits, long=Length("called")).filter(called__icontains=asked))
    return _things(arms, "fits", "long")


def meant(found: Sequence[Thing]) -> Thing | None:
    """Which of those found was meant: the only one, or the only one by all of its code. None where that is not told."""
    if len(found) == 1:
        return found[0]
    exact = [one for one in found if one.is_exact]
    return exact[0] if len(exact) == 1 else None


def _things(arms: Sequence[QuerySet[Any]], *columns: str) -> list[Thing]:
    """What these come to, by one query; ordered by `columns` where they are given."""
    if not arms:
        return []
    asked = [arm.values_list("sort_name", "found_key", "called", *columns) for arm in arms]
    rows = asked[0].union(*asked[1:], all=True)
    if columns:
        rows = rows.order_by(*columns, "called", "sort_name", "found_key")[: MOST + 1]
    return [Thing(row[0], row[1], row[2], is_exact=bool(columns) and row[3] == 0) for row in rows]


def joined(*parts: str | Value) -> Callable[[], Combinable]:
    """For `named`: fields by their names and texts as Values, one after the other."""
    return lambda: Concat(*[F(part) if isinstance(part, str) else part for part in parts], output_field=CharField())
