"""Tags of safety's pages and papers: pictograms, which never stand without words, and the texts of statements."""

from typing import Any

from django import template
from django.template.context import Context
from django.templatetags.static import static
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.calc.ghs import PICTOGRAMS
from shop.people.models import Room, Units
from shop.safety import figures, statements
from shop.safety.models import Property
from shop.safety.wording import about_ppm, poured_words

register = template.Library()


register.filter("ppm", about_ppm)


@register.simple_tag
def pictogram(code: str, *, paper: bool = False, words: bool = True) -> SafeString:
    """A pictogram ("GHS02") and its words. KeyError for a code that the GHS does not have.

    paper: its picture by the address papers fetch from. words: False where the words stand right beside it already.
    """
    one = PICTOGRAMS[code]
    file = f"shop/ghs/{one.code}.svg"
    picture = format_html(
        '<img class="pictogram-sign" src="{}" alt="{}" width="64" height="64">',
        f"static:{file}" if paper else static(file),
        one.symbol,
    )
    if not words:
        return picture
    return format_html('<span class="pictogram">{}<span class="pictogram-means">{}</span></span>', picture, one.means)


@register.filter
def statement(code: str) -> str:
    """The text of a statement's code ("H225", "P303+P361+P353"); the code itself where the lists do not have it."""
    return statements.statement(code) if statements.is_known(code) else code


@register.simple_tag(takes_context=True)
def poured(context: Context, ml: float) -> str:
    """An amount of liquid that may be as small as a wipe takes, in the reader's unit."""
    user: Any = context.get("user")
    return poured_words(ml, user if isinstance(user, Units) else Room())


@register.simple_tag(takes_context=True)
def figure(context: Context, told: Property) -> str:
    """A published figure in the reader's unit: `reader` where one was given (paper), else whoever is signed in."""
    reader: Any = context.get("reader") or context.get("user")
    return figures.figure_words(told, reader if isinstance(reader, Units) else Room())
