"""Papers: a template as a PDF, by WeasyPrint, which loads when the first one is made.

Templates extend print/base.html and name static files as `static:shop/paper.css`; nothing else is ever fetched, so
that no text that finds its way into a paper can make the server read a file or call another host.
"""

import logging
from collections.abc import Callable, Mapping
from email.message import EmailMessage
from functools import cache
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


def pdf(template: str, context: Mapping[str, Any], page_size: str, *, on_one: bool = False) -> bytes:
    """The template as a PDF. page_size: a key of PAGE_SIZES.

    on_one: where it takes more than one page, lay it out again with `tight` 1 in the context, and then 2. It should
    hold `room` and `reader`, the person whose units it speaks. Raises PaperMissing without Pango, ValueError for an
    unknown page size.
    """
    if page_size not in PAGE_SIZES:
        raise ValueError(f"page_size must be one of {', '.join(PAGE_SIZES)}; it was {page_size!r}")
    weasyprint, fetcher = load()
    size = weasyprint.CSS(string=f"@page {{ size: {PAGE_SIZES[page_size]} }}", url_fetcher=fetcher())
    for tight in (0, 1, 2):
        html = render_to_string(template, {"printed_at": clock.now(), "tight": tight, **context})
        laid_out = weasyprint.HTML(string=html, url_fetcher=fetcher()).render(stylesheets=[size])
        if not on_one or len(laid_out.pages) == 1:
            break
    return bytes(laid_out.write_pdf())


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
