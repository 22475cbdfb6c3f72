"""Pictures of data: one drawing code for screen and paper.

`new_figure` gives a matplotlib Figure in the house style; draw on it with the colours named here; `svg` turns it into
inline SVG that needs no style attribute (the content policy forbids them), follows the page's light and dark through
CSS classes, and carries the light colours itself, for paper. Matplotlib loads when the first picture is drawn.
"""

import os
import re
from hashlib import sha256
from io import BytesIO
from threading import Lock
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from django.conf import settings
from django.utils.safestring import SafeString, mark_safe

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# The colours to draw with: the light tokens of shop/static/shop/tokens.css. On screen each becomes a class.
INK = "#17120f"
QUIET = "#5c534a"
EDGE = "#857a6d"
RULE = "#d3ccbf"
RUBY = "#a4123c"
WASH = "#f9e4e3"
SHEET = "#fcfaf5"

_NAMES = {INK: "ink", QUIET: "quiet", EDGE: "edge", RULE: "rule", RUBY: "ruby", WASH: "wash", SHEET: "sheet"}

_SVG = "http://www.w3.org/2000/svg"
_HREF = "{http://www.w3.org/1999/xlink}href"
_MM_PER_INCH = 25.4
_POINTS = re.compile(r"-?\d+\.\d+(?:e-?\d+)?")
_REFERENCE = re.compile(r"url\(#([^)]+)\)")
#: Kept from matplotlib's `font` shorthand; the family is the page's own.
_FONT = re.compile(r"(?:(?P<style>italic|oblique)\s+)?(?:(?P<weight>bold|\d{3})\s+)?(?P<size>[\d.]+)px")

_loading = Lock()
_saving = Lock()
_figure_class: "type[Figure] | None" = None


def load() -> "type[Figure]":
    """Import matplotlib and set the house style, once: its settings are global and never changed after."""
    global _figure_class
    with _loading:
        if _figure_class is None:
            # its font cache belongs with the room's data: a home folder may be missing or read-only
            os.environ.setdefault("MPLCONFIGDIR", str(settings.DATA_DIR / "cache" / "matplotlib"))
            import matplotlib
            from cycler import cycler
            from matplotlib.figure import Figure

            matplotlib.rcParams.update(
                {
                    "svg.fonttype": "none",
                    "svg.hashsalt": "latheside",
                    "figure.facecolor": "none",
                    "figure.constrained_layout.use": True,
                    "savefig.facecolor": "none",
                    "axes.facecolor": "none",
                    "axes.edgecolor": EDGE,
                    "axes.labelcolor": QUIET,
                    "axes.linewidth": 0.8,
                    "axes.spines.top": False,
                    "axes.spines.right": False,
                    "axes.grid": True,
                    "axes.axisbelow": True,
                    # lines differ by their dashes as well as by colour
                    "axes.prop_cycle": cycler(color=[INK, RUBY, QUIET]) + cycler(linestyle=["-", "--", ":"]),
                    "grid.color": RULE,
                    "grid.linewidth": 0.5,
                    "text.color": INK,
                    "xtick.color": EDGE,
                    "ytick.color": EDGE,
                    "xtick.labelcolor": QUIET,
                    "ytick.labelcolor": QUIET,
                    "lines.linewidth": 1.8,
                    "patch.edgecolor": "none",
                    "legend.frameon": False,
                    "font.size": 9.5,
                    "font.sans-serif": ["Liberation Sans", "Arial", "Helvetica", "DejaVu Sans"],
                    "text.parse_math": False,
                }
            )
            _figure_class = Figure
    return _figure_class


def new_figure(width_mm: float = 100.0, height_mm: float = 62.0) -> "Figure":
    """An empty figure of that size in the house style; add axes to it with `figure.add_subplot()`.

    About 100 mm is right for a phone, where it is shown at its own size; a desk shows it larger. ValueError outside
    10 to 1000 mm.
    """
    for name, size in (("width_mm", width_mm), ("height_mm", height_mm)):
        if not 10 <= size <= 1000:
            raise ValueError(f"{name} must be between 10 and 1000; it was {size}")
    return load()(figsize=(width_mm / _MM_PER_INCH, height_mm / _MM_PER_INCH))


def line_across(
    axes: Any, height: float, words: str, *, colour: str = RUBY, dashes: Any = "-", at_left: bool = False
) -> None:
    """A line across at `height`, named at its right end, or at its left where the drawing is in the way there."""
    axes.axhline(height, color=colour, linewidth=1.2, linestyle=dashes)
    axes.annotate(
        words,
        (0.0 if at_left else 1.0, height),
        xycoords=("axes fraction", "data"),
        xytext=(3 if at_left else 0, 2),
        textcoords="offset points",
        ha="left" if at_left else "right",
        va="bottom",
        fontsize=8.5,
        color=colour,
        zorder=5,  # over what is drawn, on a ground of its own
        bbox={"facecolor": SHEET, "edgecolor": "none", "pad": 0.8},
    )


def svg(figure: "Figure", *, title: str, describes: str) -> SafeString:
    """The figure as inline SVG, named by `title`; `describes` says in words what it shows.

    Ids are made from the picture's content, so different pictures on one page don't collide and the same one is the
    same text each time. ValueError if title or describes is empty: a picture without words is not shown.
    """
    if not title.strip() or not describes.strip():
        raise ValueError("title and describes must say what the picture shows")
    drawn = BytesIO()
    with _saving:  # text layout shares caches that are not made for threads
        figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    root = ElementTree.fromstring(drawn.getvalue())
    prefix = "p" + sha256(drawn.getvalue() + title.encode() + describes.encode()).hexdigest()[:8]
    _clean(root, prefix)
    _name(root, prefix, title, describes)
    width, height = figure.get_size_inches() * _MM_PER_INCH
    root.attrib.update({"width": f"{width:g}mm", "height": f"{height:g}mm"})
    return mark_safe(ElementTree.tostring(root, encoding="unicode", short_empty_elements=True))


def name_of(colour: str) -> str:
    """The class of one of the colours to draw with, less its letter: "ink"."""
    return _NAMES[colour]


def drawn(
    body: str, *, box: tuple[float, float, float, float], width_mm: float, title: str, describes: str
) -> SafeString:
    """A picture that is no chart: elements of SVG put together elsewhere, named and described as `svg` does.

    body: elements that carry the house's colours both as attributes, for paper, and as classes ("f-ink", "p-edge"), and
    nothing that people typed but escaped; it has no ids. box: left, top, width and height of what is shown.
    """
    if not title.strip() or not describes.strip():
        raise ValueError("title and describes must say what the picture shows")
    root = ElementTree.fromstring(f"<svg>{body}</svg>")
    prefix = "p" + sha256(f"{body}{title}{describes}".encode()).hexdigest()[:8]
    _name(root, prefix, title, describes)
    left, top, width, height = box
    root.attrib.update(
        {
            "viewBox": f"{left:g} {top:g} {width:g} {height:g}",
            "width": f"{width_mm:g}mm",
            "height": f"{width_mm * height / width:g}mm",
        }
    )
    return mark_safe(ElementTree.tostring(root, encoding="unicode", short_empty_elements=True))


def _clean(root: ElementTree.Element, prefix: str) -> None:
    """Drop what only weighs, turn style attributes into attributes and classes, and make the ids the picture's own."""
    used = set(re.findall(r"url\(#([^)]+)\)|href=\"#([^\"]+)\"", ElementTree.tostring(root, encoding="unicode")))
    referenced = {name for pair in used for name in pair if name}
    for parent in root.iter():
        for child in list(parent):
            unseen = child.get("style") == "fill: none" and child.tag == f"{{{_SVG}}}path"
            if unseen or child.tag in (f"{{{_SVG}}}metadata", f"{{{_SVG}}}style"):
                parent.remove(child)
    for element in root.iter():
        element.tail = None
        if not (element.text or "").strip():
            element.text = None
        element.tag = element.tag.removeprefix(f"{{{_SVG}}}")
        _restyle(element)
        if "id" in element.attrib:
            if element.attrib["id"] in referenced:
                element.attrib["id"] = f"{prefix}-{element.attrib['id']}"
            else:
                del element.attrib["id"]
        if _HREF in element.attrib:
            element.attrib["href"] = f"#{prefix}-{element.attrib.pop(_HREF).removeprefix('#')}"
        for name, value in element.attrib.items():
            if "url(#" in value:
                element.attrib[name] = _REFERENCE.sub(rf"url(#{prefix}-\1)", value)
            elif name in {"d", "x", "y", "width", "height", "points", "transform"}:
                short = _POINTS.sub(lambda m: f"{float(m[0]):.2f}".rstrip("0").rstrip("."), value)
                element.attrib[name] = " ".join(short.split())


def _restyle(element: ElementTree.Element) -> None:
    """One element's style attribute as presentation attributes, and its house colours as classes besides."""
    declared: dict[str, Any] = {}
    for part in element.attrib.pop("style", "").split(";"):
        name, _, value = part.partition(":")
        if name.strip():
            declared[name.strip()] = value.strip()
    declared.pop("font-family", None)
    if font := _FONT.search(declared.pop("font", "")):
        declared["font-size"] = font["size"]
        declared |= {f"font-{part}": font[part] for part in ("style", "weight") if font[part]}
    element.attrib.update(declared)
    classes = [
        f"{letter}-{_NAMES[colour]}"
        for letter, paint in (("f", "fill"), ("p", "stroke"))
        if (colour := element.attrib.get(paint, "").lower()) in _NAMES
    ]
    # text without a fill of its own would be black, which is the ground in the dark
    if element.tag == "text" and "fill" not in element.attrib:
        element.attrib["fill"] = INK
        classes.append("f-ink")
    if classes:
        element.attrib["class"] = " ".join(classes)


def _name(root: ElementTree.Element, prefix: str, title: str, describes: str) -> None:
    """Give the picture its name and its words, for those who don't see it."""
    for place, (tag, words) in enumerate((("title", title), ("desc", describes))):
        element = ElementTree.Element(tag, {"id": f"{prefix}-{tag}"})
        element.text = words
        root.insert(place, element)
    root.attrib.update(
        {
            "xmlns": _SVG,
            "class": "picture",
            "role": "img",
            "aria-labelledby": f"{prefix}-title",
            "aria-describedby": f"{prefix}-desc",
            "stroke-linejoin": "round",
            "font-family": "Liberation Sans, Arial, Helvetica, sans-serif",
        }
    )
