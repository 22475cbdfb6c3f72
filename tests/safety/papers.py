"""Papers in tests: their words, whether everything stands within the page, and whether they are accessible."""

import re
import subprocess
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import page as validation
import pdfua
import pypdf
import zxingcpp
from PIL import Image, ImageChops

#: What a plain label printer prints, in dots an inch.
PRINTER_DPI = 203
#: The sides of the papers, in points.
SIDES = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}


def words(made: bytes) -> list[str]:
    """What each page says, its spaces run together."""
    return [" ".join(one.extract_text().split()) for one in pypdf.PdfReader(BytesIO(made)).pages]


def boxes(made: bytes, folder: Path) -> list[list[tuple[str, float, float, float, float]]]:
    """Each word of each page with its box (left, top, right, bottom in points), as Poppler finds them."""
    (folder / "boxes.pdf").write_bytes(made)
    run = ["pdftotext", "-bbox", folder / "boxes.pdf", "-"]
    told = subprocess.run(run, check=True, capture_output=True, timeout=120).stdout.decode()
    told = "".join(sign for sign in told if sign >= " " or sign in "\n\t")
    space = "{http://www.w3.org/1999/xhtml}"
    return [
        [
            (word.text or "", *(float(word.attrib[side]) for side in ("xMin", "yMin", "xMax", "yMax")))
            for word in one.iter(f"{space}word")
        ]
        for one in ElementTree.fromstring(told).iter(f"{space}page")
    ]


def stands_within(made: bytes, paper: str, folder: Path, *, margin_mm: float = 4) -> None:
    """Every page has the paper's size, every word lies within it, and nothing is printed on its edge."""
    sides = SIDES[paper]
    reader = pypdf.PdfReader(BytesIO(made))
    margin = margin_mm * 72 / 25.4
    for number, (one, there) in enumerate(zip(reader.pages, boxes(made, folder), strict=True)):
        size = (float(one.mediabox.width), float(one.mediabox.height))
        assert max(abs(a - b) for a, b in zip(size, sides, strict=True)) < 0.1
        assert there, f"page {number + 1} is empty"
        outside = [
            word
            for word, left, top, right, bottom in there
            if left < margin or top < margin or right > sides[0] - margin or bottom > sides[1] - margin
        ]
        assert outside == []
    for picture in pictures(made, folder, dpi=60):
        edge = round(margin / 72 * 60) - 1
        inner = picture.crop((edge, edge, picture.width - edge, picture.height - edge))
        blank = Image.new("L", picture.size, 255)
        blank.paste(inner, (edge, edge))
        assert ImageChops.difference(picture, blank).getbbox() is None


def pictures(made: bytes, folder: Path, *, dpi: int = PRINTER_DPI) -> list[Image.Image]:
    """The pages as a printer would put them down: black or white."""
    (folder / "pictured.pdf").write_bytes(made)
    for old in folder.glob("picture-*"):
        old.unlink()
    run = ["pdftoppm", "-r", str(dpi), "-mono", folder / "pictured.pdf", folder / "picture"]
    subprocess.run(run, check=True, timeout=240)
    return [Image.open(file).convert("L") for file in sorted(folder.glob("picture-*"))]


def codes(picture: Image.Image) -> list[str]:
    """What the QR codes on a page hold, by a reader of another make."""
    return [found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)]


#: The rule of pdfua that breaks off on any heading whose content is an array, as WeasyPrint writes it; that no heading
#: is empty is looked at here instead.
BREAKS_OFF = "UA-14-001"


def is_accessible(made: bytes, folder: Path) -> None:
    """Two validators find no fault with it as PDF/UA-1, and none of its headings is empty."""
    report = validation.validate_pdf_bytes(made, profile=validation.ValidationProfile.PDF_UA_1)
    assert [(fault.rule_id, fault.message) for fault in report.failures] == []
    assert report.is_compliant
    assert report.rules.passed == report.rules.total >= 100
    (folder / "accessible.pdf").write_bytes(made)
    found = pdfua.validate(str(folder / "accessible.pdf"))
    assert [(one.rule_id, one.message) for one in found.findings] == []
    assert {one.rule_id for one in found.skipped} <= {BREAKS_OFF}
    assert len(found.outcomes) == 12
    assert all(words for _, words in headings(made))


def headings(made: bytes) -> list[tuple[str, bool]]:
    """The headings of its structure tree in order, and whether each has content on a page."""

    def holds(node: Any) -> bool:
        kids = node.get("/K", []) if isinstance(node, pypdf.generic.DictionaryObject) else []
        kids = kids.get_object() if hasattr(kids, "get_object") else kids
        each = kids if isinstance(kids, list) else [kids]
        return any(isinstance(kid.get_object(), int) or holds(kid.get_object()) for kid in each)

    def walk(node: Any) -> Iterator[tuple[str, bool]]:
        if not isinstance(node, pypdf.generic.DictionaryObject):
            return
        if re.fullmatch(r"/H\d?", str(node.get("/S", ""))):
            yield str(node["/S"])[1:], holds(node)
        kids = node.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            yield from walk(kid.get_object())

    return list(walk(pypdf.PdfReader(BytesIO(made)).trailer["/Root"]["/StructTreeRoot"]))
