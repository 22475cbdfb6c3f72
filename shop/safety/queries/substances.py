"""Substances, what is to stand on their labels, and how that compares with the supplier's sheet."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from shop.calc import ghs
from shop.safety.figures import figure_of
from shop.safety.labelling import difference_words, worked_out
from shop.safety.models import (
    ExposureLimit,
    HazardSheet,
    Kept,
    Property,
    PropertyKind,
    Substance,
    SupplierSheet,
)
from shop.safety.queries.supplier_sheets import supplier_sheets_in_force_of
from shop.safety.statements import is_known, statement
from shop.safety.wording import hazard_words


@dataclass(frozen=True)
class StatementLine:
    """One statement of a label: its code and its text, the gap filled where the fill is known."""

    code: str
    text: str
    source: str = ""
    from_memory: bool = False

    @property
    def is_open(self) -> bool:
        """Whether its gap is still a gap."""
        return "…" in self.text


@dataclass(frozen=True)
class SubstanceLabel:
    """What stands on the label of a substance.

    worked: what the rules of the GHS make of its classification here; sheet: the supplier's sheet in force, None
    without one. signal, pictograms, h, p: what to print. They are the supplier's where the sheet says them, for the
    supplier's stands; else those worked out. supplementary: EUH statements. differences: where the two are not alike,
    a sentence each. left_out: P codes written down here that its sheet does not have, which is no difference: suppliers
    choose (CLP, article 28). unchecked: some line of the classification rests on nobody's looking up.
    """

    substance: Substance
    worked: ghs.Label
    sheet: SupplierSheet | None
    signal: str
    pictograms: tuple[str, ...]
    h: tuple[StatementLine, ...]
    p: tuple[StatementLine, ...]
    supplementary: tuple[StatementLine, ...]
    differences: tuple[str, ...]
    left_out: tuple[str, ...]
    unchecked: bool

    @property
    def is_the_suppliers(self) -> bool:
        """Whether the sheet says what stands here, and not only that there is a sheet."""
        return self.sheet is not None and says_something(self.sheet)

    @property
    def supplier_name(self) -> str:
        if self.sheet is not None:
            return self.sheet.supplier_name
        return self.substance.supplier.name if self.substance.supplier else ""

    @property
    def supplier_phone(self) -> str:
        """Its emergency number, "" where it is not known."""
        return self.sheet.supplier_phone if self.sheet else ""

    @property
    def supplier_address(self) -> str:
        """How it is reached: what stands at the supplier's name in stock, "" where nothing does."""
        supplier = (self.sheet.supplier if self.sheet else None) or self.substance.supplier
        return supplier.contact if supplier else ""


def says_something(sheet: SupplierSheet) -> bool:
    """Whether anything of the sheet's section 2 was copied when it was taken in."""
    return bool(sheet.says_signal or sheet.says_pictograms or sheet.says_h)


def label_of(substance: Substance, sheet: SupplierSheet | None = None, *, looked: bool = False) -> SubstanceLabel:
    """What stands on its label. sheet: the supplier's sheet in force, where the caller `looked` it up already."""
    if not looked:
        sheet = supplier_sheets_in_force_of([substance]).get(substance.pk)
    hazards = list(substance.hazards.all())
    worked = worked_out((one.hazard_class, one.category, one.h_code) for one in hazards)
    kept = {one.code: one for one in substance.statements.all()}
    told = sheet if sheet is not None and says_something(sheet) else None
    euh = [code for code in kept if code.startswith("EUH")]
    precautions = list(told.says_p) if told is not None and told.says_p else [c for c in kept if c.startswith("P")]
    said_h = [code for code in told.says_h if not code.startswith("EUH")] if told else list(worked.h_codes)
    said_euh = [code for code in told.says_h if code.startswith("EUH")] if told else []
    return SubstanceLabel(
        substance=substance,
        worked=worked,
        sheet=sheet,
        signal=told.says_signal if told else worked.signal,
        pictograms=tuple(told.says_pictograms) if told else worked.pictograms,
        h=_lines(said_h, {one.h_code: one for one in hazards}, on_sheet=told is not None),
        p=_lines(precautions, kept, on_sheet=told is not None and bool(told.says_p)),
        supplementary=_lines(said_euh or euh, kept, on_sheet=bool(said_euh)),
        differences=tuple(_differences(worked, told)) if told else (),
        left_out=tuple(code for code in kept if code.startswith("P") and code not in precautions),
        unchecked=any(one.from_memory for one in hazards),
    )


def _differences(worked: ghs.Label, told: SupplierSheet) -> Iterable[str]:
    codes = [code for code in told.says_h if not code.startswith("EUH")]
    return difference_words(worked, told.says_signal, told.says_pictograms, codes)


def _lines(codes: Iterable[str], kept: dict[str, Any], *, on_sheet: bool) -> tuple[StatementLine, ...]:
    """Statements in the order of the lists, with the fills that are kept here.

    on_sheet: they are the supplier's; then its sheet is their source, and nothing about them is left to look up.
    """
    found = []
    for code in sorted(codes, key=ghs.sort_key):
        one = kept.get(code)
        fill = getattr(one, "fill", "")
        text = statement(code, fill) if is_known(code) else code
        if on_sheet or one is None:
            found.append(StatementLine(code, text))
        else:
            found.append(StatementLine(code, text, one.source, one.from_memory))
    return tuple(found)


def sources_of(lines: Iterable[StatementLine]) -> list[tuple[str, str]]:
    """Where statements are from, each source with its codes: "P210, P233"."""
    found: dict[str, list[str]] = {}
    for line in lines:
        found.setdefault(line.source, []).append(line.code)
    return [(source, ", ".join(codes)) for source, codes in found.items()]


# Pages ----------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SubstanceLine:
    """One substance of the list: itself and its label."""

    substance: Substance
    label: SubstanceLabel


def substances_in_full() -> QuerySet[Substance]:
    """Substances with all that their labels need."""
    return Substance.objects.select_related("supplier").prefetch_related("hazards", "statements")


def substance_lines(rows: Sequence[Substance]) -> list[SubstanceLine]:
    """These substances and their labels. One query for the supplier's sheets of all."""
    sheets = supplier_sheets_in_force_of(rows)
    return [SubstanceLine(one, label_of(one, sheets.get(one.pk), looked=True)) for one in rows]


@dataclass(frozen=True)
class KindOfFigure:
    """All that is published of one kind of figure."""

    name: str
    rows: tuple[Property, ...]

    @property
    def differ(self) -> bool:
        """Whether sources differ under one condition by more than reading a figure does.

        That is 1 °C or 2 % (our own measure); ranges that meet agree, and figures that nobody looked up do not count.
        """
        by_condition: dict[str, list[Property]] = {}
        for one in self.rows:
            if not one.from_memory:
                by_condition.setdefault(one.condition.casefold(), []).append(one)
        return any(_apart(found) for found in by_condition.values())


def _apart(rows: list[Property]) -> bool:
    lowest_end = min(one.value if one.high is None else one.high for one in rows)
    highest_start = max(one.value for one in rows)
    close = 1.0 if figure_of(rows[0].kind).quantity else 0.02 * abs(highest_start)
    return highest_start - lowest_end > close


def figures_of(substance: Substance) -> list[KindOfFigure]:
    """Its physical data by kind, in the order of PropertyKind; those of one kind stand side by side."""
    by_kind: dict[str, list[Property]] = {}
    for one in substance.properties.all():
        by_kind.setdefault(one.kind, []).append(one)
    listed = [kind for kind in PropertyKind.values if kind in by_kind]
    return [KindOfFigure(figure_of(kind).name, tuple(by_kind[kind])) for kind in listed]


@dataclass(frozen=True)
class ClassLine:
    """One line of a classification in words."""

    h_code: str
    words: str
    text: str
    source: str
    from_memory: bool


def classification(substance: Substance) -> list[ClassLine]:
    """Its hazard classes as the page lists them."""
    return [
        ClassLine(
            one.h_code,
            hazard_words(one.hazard_class, one.category),
            statement(one.h_code),
            one.source,
            one.from_memory,
        )
        for one in substance.hazards.all()
    ]


def places_of(substance: Substance) -> list[Kept]:
    """Where it is kept."""
    return list(substance.kept.select_related("place").order_by("place__name"))


def exposure_limits_of(substance: Substance) -> list[ExposureLimit]:
    """Exposure limits, those in force first."""
    return list(substance.limits.all())


def hazard_sheets_on(substance: Substance) -> list[HazardSheet]:
    """The room's own sheets on it."""
    return list(substance.hazard_sheets.filter(is_active=True))


def flammable_category(substance: Substance) -> tuple[str, Property, Property] | None:
    """The flammable-liquid category that its figures come to, with the flash and boiling points it rests on.

    None where either is not looked up, or two sources would come to different categories.
    """
    looked_up = [one for one in substance.properties.all() if not one.from_memory]
    flashes = [one for one in looked_up if one.kind == PropertyKind.FLASH]
    boilings = [one for one in looked_up if one.kind == PropertyKind.BOILING]
    found = {ghs.flammable_liquid_category(flash.value, boiling.value) for flash in flashes for boiling in boilings}
    return (found.pop(), flashes[0], boilings[0]) if len(found) == 1 else None
