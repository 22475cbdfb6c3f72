"""Labels for containers: what each says, how large, and whether its text has room on it, found out by laying it out.

Full form: product identifier, signal word, hazard and precautionary statements, pictograms, and the supplier's name,
address and telephone number (29 CFR 1910.1200(f)(1)). Short form, for containers within the workplace: the identifier,
and words and pictures that give at least general information on the hazards ((f)(6)(ii)).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from io import BytesIO
from math import sqrt
from typing import Any

from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from pypdf import PdfReader, PdfWriter

from shop import paper
from shop.calc.ghs import PICTOGRAMS
from shop.codes import Opens

#: The most labels of one press.
MOST_LABELS = 336
#: Sizes of type that are tried, in points, the largest first; the size of a label says where to begin. The least is our
#: own figure: less is not read on a bench.
TYPES = (20.0, 16.0, 13.0, 10.5, 8.5, 7.2, 6.0)
#: A pictogram covers at least so much of a full label, and at least so much at all (CLP, annex I, 1.2.1.3).
SHARE, LEAST_MM2 = 1 / 15, 100.0
#: The sign's red edge reaches so far across its picture: 197 of 200 (static/shop/ghs/, a sharp-cornered stroke of 12).
_EDGE = 197 / 200
#: All sheets are parted within this block in the middle of the paper, which fits A4 and Letter (mm).
BLOCK_MM = (192, 252)
_HIGH_MM = {"A4": 297.0, "Letter": 279.4}
#: Between a label's edge and what stands on it (mm).
_PADDING = 2.5
#: Between its pictograms and its words, and the narrowest that words can be set: what needs more room has none (mm).
_GAP, _LEAST_WORDS = 2.0, 24.0


class NoRoom(Exception):
    """A label's text has no room on its size."""


@dataclass(frozen=True)
class Size:
    """A size of label: our own, in mm, named by what it is for."""

    slug: str
    name: str
    width: int
    height: int
    code_mm: int
    first_step: int

    @property
    def across(self) -> int:
        return BLOCK_MM[0] // self.width

    @property
    def down(self) -> int:
        return BLOCK_MM[1] // self.height

    @property
    def on_a_sheet(self) -> int:
        return self.across * self.down

    @property
    def words(self) -> str:
        return f"{self.name}, {self.width} × {self.height} mm"

    @property
    def is_tall(self) -> bool:
        """Whether its pictograms stand in a row above its words, instead of beside them."""
        return self.height > self.width

    def sign_mm(self, *, full: bool) -> float:
        """The side of the picture of a pictogram: its sign covers its share of a full label, the least on a short."""
        square = max(LEAST_MM2, self.width * self.height * SHARE) if full else max(LEAST_MM2, _SHORT_MM2[self.slug])
        return sqrt(2 * square) / _EDGE

    def signs_mm(self, count: int, *, full: bool) -> float:
        """The width that so many pictograms take, in columns as high as the label lets them be."""
        side = self.sign_mm(full=full)
        if self.is_tall:
            return self.width - 2 * _PADDING
        in_a_column = max(1, int((self.height - 2 * _PADDING) / side))
        return side * -(-count // in_a_column)


#: From small to large. The codes are as large as a printer of 203 dots an inch needs for a long address.
SIZES = (
    Size("vial", "Vial", 64, 36, 18, 3),
    Size("bottle", "Bottle", 96, 63, 20, 2),
    Size("can", "Can", 96, 126, 24, 1),
    Size("drum", "Drum", 192, 126, 30, 0),
)
#: So large a pictogram is on a short label of each size (mm²): our own figures.
_SHORT_MM2 = {"vial": 100.0, "bottle": 220.0, "can": 600.0, "drum": 1000.0}
BY_SLUG = {size.slug: size for size in SIZES}


@dataclass(frozen=True)
class ContainerLabel(Opens):
    """What stands on one label. address: what its code opens.

    signal, pictograms, hazards, precautions: of the substance's label, the statements in words; no_class: why there are
    none; supplier: its name, address and number, a line each; fire_use, fire_never: how it is put out, where it has no
    class; filled: who filled it and when; no_sheet: no supplier's sheet is kept for it; general: the hazards in few
    words, which a short label says where its statements have no room.
    """

    name: str
    other_names: str = ""
    signal: str = ""
    pictograms: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    precautions: tuple[str, ...] = ()
    supplier: tuple[str, ...] = ()
    no_class: str = ""
    fire_use: str = ""
    fire_never: str = ""
    filled: str = ""
    no_sheet: bool = False
    general: tuple[str, ...] = ()
    is_full: bool = False
    drawn: SafeString = field(default=SafeString(""), compare=False)

    @property
    def briefer(self) -> "ContainerLabel | None":
        """The same with the hazards in few words; None for a full label, and for one that has them so already."""
        if self.is_full or not self.general or self.hazards == self.general:
            return None
        return replace(self, hazards=self.general)


@dataclass(frozen=True)
class Fitted:
    """A label, and the type in which it has room; None where it has none."""

    label: ContainerLabel
    size: Size
    step: int | None

    @property
    def type_pt(self) -> float | None:
        return None if self.step is None else TYPES[self.step]


def fit(labels: Sequence[ContainerLabel], size: Size) -> list[Fitted]:
    """Each label in the largest type in which all of it stands on this size; a short one perhaps in fewer words.

    Raises paper.PaperMissing without Pango.
    """
    fitted = _fit(labels, size)
    again = {one.label: one.label.briefer for one in fitted if one.step is None and one.label.briefer}
    briefer = dict(zip(again, _fit([label for label in again.values() if label], size), strict=True))
    return [briefer.get(one.label, one) for one in fitted]


def _fit(labels: Sequence[ContainerLabel], size: Size) -> list[Fitted]:
    found: dict[ContainerLabel, int | None] = dict.fromkeys(labels)
    for step in range(size.first_step, len(TYPES)):
        left = [label for label in found if found[label] is None]
        if not left:
            break
        for label, height in zip(left, _heights(left, size, step), strict=True):
            if height <= size.height:
                found[label] = step
    return [Fitted(label, size, found[label]) for label in labels]


def sizes_that_fit(label: ContainerLabel) -> list[Size]:
    """The sizes on which all of a label has room."""
    return [size for size in SIZES if fit([label], size)[0].step is not None]


def sheets_pdf(fitted: Sequence[Fitted], *, size: Size, page_size: str, copies: int, start: int, title: str) -> bytes:
    """The labels, each `copies` times, on sheets of a paper; the first `start - 1` places of the first are left empty.

    ValueError for a label that has no room.
    """
    if any(one.step is None for one in fitted):
        raise ValueError("fitted must hold labels that have room on their size only")
    cells: list[Fitted | None] = [None] * (start - 1)
    cells += [one for one in fitted for _ in range(copies)]
    parted = [cells[first : first + size.on_a_sheet] for first in range(0, len(cells), size.on_a_sheet)]
    different = list(dict.fromkeys(tuple(sheet) for sheet in parted))
    given = {"sheets": different, "size": size, "title": title}
    above = (_HIGH_MM[page_size] - BLOCK_MM[1]) / 2
    css = f"@page {{ size: {paper.PAGE_SIZES[page_size]}; margin: {above}mm 0 0 }} {_measures(size)}"
    made = paper.set_in_type(render_to_string("print/container_labels.html", given), css).pdf()
    return _pages(made, [different.index(tuple(sheet)) for sheet in parted])


def _pages(made: bytes, order: Sequence[int]) -> bytes:
    """The pages of a PDF in this order, the same one perhaps many times: a sheet of equal labels is set once."""
    if len(order) == len(set(order)):
        return made
    reader, writer = PdfReader(BytesIO(made)), PdfWriter()
    for number in order:
        writer.add_page(reader.pages[number])
    if reader.metadata:
        writer.add_metadata(dict(reader.metadata))
    written = BytesIO()
    writer.write(written)
    return written.getvalue()


# Measuring ------------------------------------------------------------------------------------------------------------


def _heights(labels: Sequence[ContainerLabel], size: Size, step: int) -> list[float]:
    """How high each label would be if it could grow, in mm: between two anchors, above and below it."""
    given = {"fitted": [Fitted(label, size, step) for label in labels], "size": size}
    css = f"@page {{ size: {BLOCK_MM[0] + 20}mm 2000mm; margin: 5mm }} {_measures(size)}"
    laid_out = paper.set_in_type(render_to_string("print/container_labels_measured.html", given), css)
    at = {name: (number, y) for number, page in enumerate(laid_out.document.pages) for name, (_, y) in _anchors(page)}
    heights = []
    for place in range(1, len(labels) + 1):
        (page, top), (other, bottom) = at[f"above-{place}"], at[f"below-{place}"]
        heights.append((bottom - top) * 25.4 / 96 if page == other else float("inf"))
    return heights


def _anchors(page: Any) -> Iterable[tuple[str, tuple[float, float]]]:
    """The anchors of a page of WeasyPrint, with where they are (px from its left and top)."""
    return ((name, (place[0], place[1])) for name, place in page.anchors.items())


def _measures(size: Size) -> str:
    """The measures of a size, in CSS: here and not in a file, so that they are told once.

    Floats of fixed widths: WeasyPrint takes some ten times as long over flexible ones.
    """
    rules = [f".type-{step} {{ font-size: {points}pt }}" for step, points in enumerate(TYPES)]
    inner = size.width - 2 * _PADDING
    rules += [
        f".block {{ width: {BLOCK_MM[0] + 0.5}mm; height: {size.down * size.height}mm }}",
        f".label {{ width: {size.width}mm; padding: {_PADDING}mm }}",
        f".cell {{ width: {size.width}mm; height: {size.height}mm }}",
        f".code {{ width: {size.code_mm}mm }}",
        f".code svg {{ width: {size.code_mm}mm; height: {size.code_mm}mm }}",
    ]
    for form, full in (("full", True), ("short", False)):
        side = size.sign_mm(full=full)
        rules.append(f".{form} .pictogram-sign {{ width: {side:.2f}mm; height: {side:.2f}mm }}")
        for count in range(1, len(PICTOGRAMS) + 1):
            wide = size.signs_mm(count, full=full)
            words = inner if size.is_tall else max(inner - wide - _GAP, _LEAST_WORDS)
            rules.append(f".{form} .signs-{count} {{ width: {wide:.2f}mm }}")
            rules.append(f".{form} .words-{count} {{ width: {words:.2f}mm }}")
    return " ".join([*rules, f".words-0 {{ width: {inner}mm }}"])
