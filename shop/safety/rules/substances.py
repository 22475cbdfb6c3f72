"""What is checked of a substance and of the lines about it. Each check gives back what to keep, or raises Refused."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from shop.calc import apart, ghs
from shop.press.rules import words
from shop.refusal import Refused
from shop.safety.figures import figure_of
from shop.safety.models import LimitKind, PropertyKind
from shop.safety.statements import has_gap, statement
from shop.stock.models import Item, Supplier

TWICE = "There is a substance of that name already."
#: More than any sheet has.
MOST_LINES = 40

T = TypeVar("T")


@dataclass(frozen=True)
class SubstanceFacts:
    """What a substance is, as typed; the columns of models.Substance of the same names."""

    name: str
    form: str
    other_names: str = ""
    what_for: str = ""
    cas: str = ""
    un_number: str = ""
    un_name: str = ""
    supplier: Supplier | None = None
    items: tuple[Item, ...] = ()
    groups: tuple[str, ...] = ()
    fire_use: str = ""
    fire_never: str = ""
    fire_source: str = ""
    note: str = ""


@dataclass(frozen=True)
class WantedHazard:
    """One line of a classification."""

    hazard_class: str
    category: str
    h_code: str
    source: str = ""
    from_memory: bool = False


@dataclass(frozen=True)
class WantedStatement:
    """One precautionary or supplementary statement; fill: what stands in its gap."""

    code: str
    fill: str = ""
    source: str = ""
    from_memory: bool = False


@dataclass(frozen=True)
class WantedProperty:
    """One published figure, in the unit of its kind; high: the upper end of a range."""

    kind: str
    value: float
    high: float | None = None
    condition: str = ""
    source: str = ""
    from_memory: bool = False


@dataclass(frozen=True)
class WantedLimit:
    """One exposure limit, ppm and mg/m³ as the list prints them."""

    body: str
    kind: str
    ppm: float | None = None
    mg_m3: float | None = None
    edition: str = ""
    in_force: bool = True
    source: str = ""
    from_memory: bool = False


_LONGEST = {
    **{"name": 80, "other_names": 200, "what_for": 200, "un_name": 120},
    **{"fire_use": 300, "fire_never": 300, "fire_source": 200, "note": 500},
}


def checked(facts: SubstanceFacts) -> SubstanceFacts:
    """The facts as they are kept. The numbers are only looked over: what they name, the supplier's sheet says."""
    told: dict[str, Any] = {
        name: words(getattr(facts, name), field=name, longest=most, needed=name == "name")
        for name, most in _LONGEST.items()
    }
    if (told["fire_use"] or told["fire_never"]) and not told["fire_source"]:
        raise Refused("Say where the advice on fire is from: the supplier's sheet, its section 5.", field="fire_source")
    return replace(
        facts,
        **told,
        cas=_number(ghs.checked_cas, facts.cas, "cas"),
        un_number=_number(ghs.checked_un, facts.un_number, "un_number"),
        groups=tuple(sorted(_known(group, apart.GROUPS, "groups") for group in set(facts.groups))),
    )


def _number(check: Callable[[str], str], typed: str, field: str) -> str:
    try:
        return check(typed) if typed.strip() else ""
    except ValueError as wrong:
        raise Refused(f"The {wrong}", field=field) from wrong


def _known(one: str, among: Iterable[str], field: str) -> str:
    if one not in among:
        raise Refused("That is not on the list, or not any more. Choose again.", field=field)
    return one


def _not_too_many(lines: Sequence[T]) -> Sequence[T]:
    if len(lines) > MOST_LINES:
        raise Refused(f"Keep it to {MOST_LINES} lines.", field="lines")
    return lines


def _sourced(line: T, place: int) -> T:
    """The line with its source on one line; refused where there is none and nobody says it is from memory."""
    source = words(line.source, field=f"lines.{place}.source", longest=200)  # type: ignore[attr-defined]
    if not source and not line.from_memory:  # type: ignore[attr-defined]
        raise Refused("Say where it is from, or that nobody looked it up.", field=f"lines.{place}.source")
    return replace(line, source=source)  # type: ignore[type-var]


def _once(seen: set[object], what: object, place: int, box: str) -> None:
    if what in seen:
        raise Refused("That stands in another line already.", field=f"lines.{place}.{box}")
    seen.add(what)


def checked_hazards(lines: Sequence[WantedHazard]) -> list[WantedHazard]:
    """A classification. Refuses what the GHS has not, and the same class and statement twice."""
    seen: set[object] = set()
    found = []
    for place, line in enumerate(_not_too_many(lines)):
        try:
            ghs.label([ghs.Classified(line.hazard_class, line.category, line.h_code)])
        except ValueError as wrong:
            raise Refused(f"There is no such line in the GHS: the {wrong}", field=f"lines.{place}.hazard") from wrong
        _once(seen, (line.hazard_class, line.h_code), place, "hazard")
        category = ghs.category(line.hazard_class, line.category)
        found.append(_sourced(replace(line, category=category.name), place))
    return found


def checked_statements(lines: Sequence[WantedStatement]) -> list[WantedStatement]:
    """P and EUH statements. Refuses a code that there is not, an H code, one twice, and a fill without a gap for it."""
    seen: set[object] = set()
    found = []
    for place, line in enumerate(_not_too_many(lines)):
        fill = words(line.fill, field=f"lines.{place}.fill", longest=120)
        try:
            code = ghs.written(line.code)
            statement(code)
        except ValueError as wrong:
            raise Refused(f"{_sentence(wrong)}", field=f"lines.{place}.code") from wrong
        if code.startswith("H"):
            raise Refused("H statements go with the classification, on its own page.", field=f"lines.{place}.code")
        if fill and not has_gap(code):
            raise Refused(f"The text of {code} leaves nothing open to fill in.", field=f"lines.{place}.fill")
        _once(seen, code, place, "code")
        found.append(_sourced(replace(line, code=code, fill=fill), place))
    return found


def _sentence(wrong: ValueError) -> str:
    text = str(wrong)
    return f"The {text}" if text.startswith("code ") else text


def checked_properties(lines: Sequence[WantedProperty]) -> list[WantedProperty]:
    """Physical data. Every line says where it is from, so that two sources may differ."""
    found = []
    for place, line in enumerate(_not_too_many(lines)):
        figure = figure_of(_known(line.kind, PropertyKind.values, f"lines.{place}.kind"))
        for box, value in (("value", line.value), ("high", line.high)):
            if value is not None and not figure.low <= value <= figure.high:
                raise Refused("That is outside what this figure can be.", field=f"lines.{place}.{box}")
        if line.high is not None and line.high < line.value:
            raise Refused("The upper end lies below the lower.", field=f"lines.{place}.high")
        condition = words(line.condition, field=f"lines.{place}.condition", longest=80)
        source = words(line.source, field=f"lines.{place}.source", longest=200, needed=True)
        found.append(replace(line, condition=condition, source=source))
    return found


def checked_limits(lines: Sequence[WantedLimit]) -> list[WantedLimit]:
    """Exposure limits. Each names its body, edition and source, and has a figure above zero."""
    found = []
    for place, line in enumerate(_not_too_many(lines)):
        _known(line.kind, LimitKind.values, f"lines.{place}.kind")
        if line.ppm is None and line.mg_m3 is None:
            raise Refused(
                "Give the figure: in ppm, in mg/m³, or both as the list prints them.", field=f"lines.{place}.ppm"
            )
        for box, value in (("ppm", line.ppm), ("mg_m3", line.mg_m3)):
            if value is not None and not 0 < value <= 1_000_000:
                raise Refused("Give a figure above zero, at most a million.", field=f"lines.{place}.{box}")
        told: dict[str, Any] = {
            name: words(getattr(line, name), field=f"lines.{place}.{name}", longest=most, needed=True)
            for name, most in (("body", 60), ("edition", 120), ("source", 200))
        }
        found.append(replace(line, **told))
    return found
