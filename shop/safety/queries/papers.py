"""What papers need of more than one row: the sheets in force with their labels and numbers, and the binder of them."""

from collections.abc import Callable, Iterable
from typing import Any

from django.db.models import QuerySet

from shop.calc.ghs import PICTOGRAMS
from shop.codes import draw
from shop.safety.models import Binder, HazardSheet, SheetVersion, Substance
from shop.safety.papers.labels import ContainerLabel
from shop.safety.papers.sheets import SheetPaper, paper_of_version
from shop.safety.queries.hazard_sheets import SheetState, versions_in_force
from shop.safety.queries.substances import SubstanceLabel, substance_lines, substances_in_full
from shop.safety.queries.wall import call_numbers


def papers_in_force(address: Callable[[HazardSheet], str]) -> list[SheetPaper]:
    """The papers of all sheets in force, in their order. address: what the code of each opens."""
    versions = list(versions_in_force())
    numbers, labels = call_numbers(), labels_of_versions(versions)
    return [
        paper_of_version(one, standing="", address=address(one.sheet), numbers=numbers, label=labels.get(one.pk))
        for one in versions
    ]


def latest_binder(page_size: str) -> Binder | None:
    """The binder asked for last on this paper."""
    return Binder.objects.filter(paper=page_size).select_related("by").first()


def labels_of_versions(versions: Iterable[SheetVersion]) -> dict[int, Any]:
    """The label of the substance of each version that is about one, by the version's key."""
    about = {one.pk: one.sheet.substance_id for one in versions if one.sheet.substance_id}
    rows = list(substances_in_full().filter(pk__in=about.values())) if about else []
    labels = {line.substance.pk: line.label for line in substance_lines(rows)}
    return {pk: labels[substance] for pk, substance in about.items()}


def standing_of(version: SheetVersion, state: SheetState) -> str:
    """In a word or two why a version is not in force; "" if it is."""
    if state.in_force is not None and state.in_force.pk == version.pk:
        return ""
    if state.latest is not None and state.latest.pk != version.pk:
        return "Superseded"
    return state.words.partition(",")[0]


def page_of(substance: Substance) -> str:
    """What the code on a label opens: the room's own sheet on the substance, else the substance's page."""
    sheets = [sheet for sheet in substance.hazard_sheets.all() if sheet.is_active]
    return sheets[0].get_absolute_url() if sheets else substance.get_absolute_url()


def container_labels(
    substances: QuerySet[Substance], *, opens: Callable[[str], str], full: bool, filled: str
) -> list[ContainerLabel]:
    """The labels of containers of these, in the full form or the short. opens: the whole address of a page."""
    rows = list(substances_in_full().prefetch_related("hazard_sheets").filter(pk__in=substances.values("pk")))
    return [
        container_label(line.substance, line.label, address=opens(page_of(line.substance)), full=full, filled=filled)
        for line in substance_lines(rows)
    ]


def container_label(
    substance: Substance, label: SubstanceLabel, *, address: str, full: bool, filled: str
) -> ContainerLabel:
    """What stands on the label of a container of it."""
    unclassed = not (label.h or label.signal or label.pictograms)
    return ContainerLabel(
        address=address,
        name=substance.name,
        other_names=substance.other_names,
        signal=label.signal,
        pictograms=label.pictograms,
        hazards=tuple(one.text for one in (*label.h, *(label.supplementary if full else ()))),
        precautions=tuple(one.text for one in label.p) if full else (),
        supplier=_supplier(label) if full else (),
        no_class=(substance.no_class_why or "No hazard class is written down here.") if unclassed else "",
        fire_use=substance.fire_use if unclassed else "",
        fire_never=substance.fire_never if unclassed else "",
        filled=filled,
        no_sheet=label.sheet is None,
        general=tuple(f"{PICTOGRAMS[code].means.capitalize()}." for code in label.pictograms),
        is_full=full,
        drawn=draw(address),
    )


def _supplier(label: SubstanceLabel) -> tuple[str, ...]:
    """The supplier's name, address and number; what is not known here is said to be so."""
    return (
        label.supplier_name or "Supplier: not known here",
        label.supplier_address or "address: not known here",
        label.supplier_phone or "telephone: not known here",
    )
