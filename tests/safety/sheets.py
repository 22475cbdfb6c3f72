"""Makers of substances and of suppliers' sheets."""

from datetime import date
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from shop.demo.safety.plain_pdf import plain_pdf
from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import Form, Substance, SupplierSheet
from shop.safety.sheet_files import kept
from shop.safety.sheet_files.kept import KeptSheet
from tests.makers import anyway


def make_substance(name: str = "Spindle wash", **other: Any) -> Substance:
    """As starter content brings one."""
    usual: dict[str, Any] = {"slug": name.lower().replace(" ", "-"), "form": Form.LIQUID}
    return Substance.objects.create(name=name, **usual | other)


def sheet_lines(name: str = "Spindle wash", revised: str = "2024-03-15", signal: str = "Danger") -> list[list[str]]:
    """The lines of a supplier's sheet of two pages."""
    first = [
        f"SAFETY DATA SHEET   Revision date: {revised}",
        "# SECTION 1: Identification",
        name,
        "# SECTION 2: Hazard(s) identification",
        f"Signal word: {signal}",
        "GHS02 GHS07",
        "H225 Highly flammable liquid and vapour. H319 Causes serious eye irritation.",
        "P210 P303 + P361 + P353",
        "# SECTION 3: Composition/information on ingredients",
        "H301 stands here for a part of it only.",
    ]
    return [first, ["# SECTION 4: First-aid measures", "See section 8 too.", "# 5. Fire-fighting measures"]]


def upload(content: bytes | None = None, name: str = "wash.pdf") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, plain_pdf(sheet_lines()) if content is None else content, "application/pdf")


def kept_sheet(name: str = "Spindle wash", **lines: Any) -> KeptSheet:
    """A file that was sent and kept; another name or date is another file."""
    return kept.keep(upload(plain_pdf(sheet_lines(name, **lines))))


def add_sheet(by: Person, substance: Substance, revised_on: date = date(2024, 3, 15), **other: Any) -> SupplierSheet:
    usual: dict[str, Any] = {
        "supplier_name": "Fennimore Fluids",
        "says_signal": "Danger",
        "says_pictograms": ["GHS02", "GHS07"],
        "says_h": ["H225", "H319"],
        "says_p": ["P210", "P303+P361+P353"],
    }
    sheet = other.pop("sheet", None) or kept_sheet(substance.name, revised=revised_on.isoformat())
    return anyway(
        actions.add_supplier_sheet, by=by, substance=substance, sheet=sheet, revised_on=revised_on, **usual | other
    )
