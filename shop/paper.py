"""Papers: a template as a PDF, by WeasyPrint, which loads when the first one is made.

Templates extend print/base.html and name static files as `static:shop/paper.css`; nothing else is ever fetched, so
that no text that finds its way into a paper can make the server read a file or call another host.
"""

import ctypes
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from email.message import EmailMessage
from functools import cache, lru_cache
from mimetypes import guess_type
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.text import slugify

from shop import clock

log = logging.getLogger(__name__)

#: CSS names of the papers that can be in the printer (values of people.models.Paper).
PAGE_SIZES = {"A4": "A4", "Letter": "letter"}
#: The only folder that papers may take files from.
STATIC = Path(settings.BASE_DIR) / "shop" / "static"


class PaperMissing(Exception):
    """The machine lacks Pango, the library that sets type for PDFs."""


@cache
def load() -> tuple[Any, Any]:
    """WeasyPrint and our fetcher of its files. PaperMissing if Pango is not installed."""
    try:
        import weasyprint
        from weasyprint.urls import URLFetcher, URLFetcherResponse
    except OSError as missing:
        raise PaperMissing(str(missing)) from missing

    class OwnFilesOnly(URLFetcher):
        """Serves `static:` addresses from our static folder and refuses every other."""

        def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> Any:
            scheme, _, name = url.partition(":")
            if scheme != "static":
                raise ValueError("only the program's own static files go into papers")
            file = (STATIC / name).resolve()
            if not (file.is_relative_to(STATIC.resolve()) and file.is_file()):
                raise ValueError(f"no such static file: {name}")
            said = EmailMessage()
            said["Content-Type"] = guess_type(file.name)[0] or "application/octet-stream"
            return URLFetcherResponse(url, file.read_bytes(), said)

    return weasyprint, OwnFilesOnly


@cache
def _pango() -> Any:
    """Pango by its own C interface: WeasyPrint tells of no letter that it finds in no font. None if it is not there."""
    try:
        pango, fonts, objects = (ctypes.CDLL(name) for name in PANGO)
    except OSError:
        return None
    pointer, number, text = ctypes.c_void_p, ctypes.c_int, ctypes.c_char_p
    for library, name, result, takes in (
        (fonts, "pango_ft2_font_map_new", pointer, []),
        (pango, "pango_font_map_create_context", pointer, [pointer]),
        (pango, "pango_layout_new", pointer, [pointer]),
        (pango, "pango_layout_set_text", None, [pointer, text, number]),
        (pango, "pango_layout_get_unknown_glyphs_count", number, [pointer]),
        (objects, "g_object_unref", None, [pointer]),
    ):
        called = getattr(library, name)
        called.restype, called.argtypes = result, takes
    return pango, fonts, objects


#: As WeasyPrint asks for them.
PANGO = ("libpango-1.0.so.0", "libpangoft2-1.0.so.0", "libgobject-2.0.so.0")


@lru_cache(maxsize=4096)
def _has_letter(letter: str) -> bool:
    """Whether some font of this machine has it; True where nobody can tell."""
    found = _pango()
    if found is None:
        return True
    pango, fonts, objects = found
    fontmap = fonts.pango_ft2_font_map_new()
    context = pango.pango_font_map_create_context(fontmap)
    layout = pango.pango_layout_new(context)
    try:
        said = letter.encode()
        pango.pango_layout_set_text(layout, said, len(said))
        return int(pango.pango_layout_get_unknown_glyphs_count(layout)) == 0
    finally:
        for one in (layout, context, fontmap):
            objects.g_object_unref(one)


def letters_missing(text: str) -> str:
    """The letters of a text that no font of this machine has, each once: on a paper they would be boxes."""
    # What every text font has is not looked for: Latin and the signs beside it.
    rare = {letter for letter in text if ord(letter) > 0x24F and letter.isprintable()}
    return "".join(sorted(letter for letter in rare if not _has_letter(letter)))


@dataclass(frozen=True)
class LaidOut:
    """A template set in type. tight: how closely; document: WeasyPrint's; options: for its `write_pdf`."""

    document: Any
    tight: int
    options: Mapping[str, Any]

    @property
    def pages(self) -> int:
        return len(self.document.pages)

    def pdf(self) -> bytes:
        return bytes(self.document.write_pdf(**self.options))


def lay_out(
    template: str,
    context: Mapping[str, Any],
    page_size: str,
    *,
    on_one: bool = False,
    begin: int = 0,
    accessible: bool = False,
) -> LaidOut:
    """The template set in type. page_size: a key of PAGE_SIZES.

    on_one: where it takes more than one page, set it again with `tight` 1 in the context, and then 2; what takes more
    than one even so is set once more with `too_long`, so that it can say so. Where no font has some of its letters the
    context has `letters_missing`, and print/base.html says so. begin: with that `tight`, where it is
    known to take more than a page before. accessible: as PDF/UA-1, with tags, for
    which the template needs a language, a title, and words for every picture. The context should hold `room` and
    `reader`, the person whose units it speaks. Raises PaperMissing without Pango, ValueError for an unknown page size.
    """
    if page_size not in PAGE_SIZES:
        raise ValueError(f"page_size must be one of {', '.join(PAGE_SIZES)}; it was {page_size!r}")
    size = f"@page {{ size: {PAGE_SIZES[page_size]} }}"
    ways = [(0, False), (1, False), (2, False), (2, True)] if on_one else [(0, False)]
    for tight, too_long in ways[begin:]:
        told = {"printed_at": clock.now(), "tight": tight, "too_long": too_long, **context}
        html = render_to_string(template, told)
        if letters_missing(html):
            html = render_to_string(template, told | {"letters_missing": True})
        laid_out = set_in_type(html, size, tight=tight, accessible=accessible)
        if laid_out.pages == 1:
            break
    return laid_out


def set_in_type(html: str, css: str, *, tight: int = 0, accessible: bool = False) -> LaidOut:
    """A whole page of HTML set in type, with `css` laid over its own. Raises PaperMissing without Pango."""
    weasyprint, fetcher = load()
    over = weasyprint.CSS(string=css, url_fetcher=fetcher())
    options = {"pdf_variant": "pdf/ua-1"} if accessible else {}
    document = weasyprint.HTML(string=html, url_fetcher=fetcher()).render(stylesheets=[over], **options)
    return LaidOut(document, tight, options)


def pdf(
    template: str, context: Mapping[str, Any], page_size: str, *, on_one: bool = False, accessible: bool = False
) -> bytes:
    """The template as a PDF, laid out as `lay_out` says."""
    return lay_out(template, context, page_size, on_one=on_one, accessible=accessible).pdf()


def pdf_response(request: HttpRequest, template: str, context: Mapping[str, Any], *, name: str) -> HttpResponse:
    """The template as a PDF in the room's paper and the reader's units, or a page that says what to install."""
    room = request.room  # type: ignore[attr-defined]
    whole = {"room": room, "reader": request.user, **context}
    return hand_out(request, lambda: pdf(template, whole, room.paper), name=name)


def hand_out(request: HttpRequest, make: Callable[[], bytes], *, name: str) -> HttpResponse:
    """The PDF that `make` gives, or, where it raises PaperMissing, a page that says what to install.

    name: what the file is called, without ".pdf".
    """
    try:
        made = make()
    except PaperMissing:
        log.warning("a PDF was asked for, but Pango is not installed")
        return render(request, "paper_missing.html", status=503)
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{slugify(name) or "paper"}.pdf"'
    return answer
