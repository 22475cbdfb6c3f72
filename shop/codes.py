"""QR codes that open a page of the room, and where they open.

A code holds the whole address of its page, by the name under which the room was reached when the paper was made: a
phone must know the room by that name too. The address stands in words under the code.
"""

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest
from django.http.request import split_domain_port, validate_host
from django.utils.safestring import SafeString, mark_safe

from shop.jobs.server import own_addresses

#: Names that mean "this machine" on every machine: a code with one opens nothing on a phone.
_HERE_ONLY = {"localhost", "127.0.0.1", "[::1]"}


@dataclass(frozen=True)
class Opens:
    """An address in words: the room's name, and the page."""

    address: str

    @property
    def host(self) -> str:
        """The address without its scheme, as far as the name of the room goes."""
        return self.address.partition("://")[2].partition("/")[0]

    @property
    def page(self) -> str:
        """The rest of the address."""
        return "/" + self.address.partition("://")[2].partition("/")[2]


def draw(address: str, *, title: str | None = None) -> SafeString:
    """The address as a QR code: one SVG path with a quiet zone of four modules, as wide as what it is put in.

    Error correction M at least: 15 % of the code may be scuffed. title: its words, where nothing beside it says them.
    """
    import segno

    code = segno.make_qr(address, error="m")
    return mark_safe(code.svg_inline(border=4, omitsize=True, svgclass=None, lineclass=None, title=title))


def opens_only_here(request: HttpRequest) -> bool:
    """Whether the name this request came under means this machine and no other."""
    return split_domain_port(request.get_host())[0] in _HERE_ONLY


def shown_address(request: HttpRequest, path: str) -> str:
    """A path by the room's own address; where that means this machine alone, by the name this request came under."""
    own = settings.LATHESIDE_ADDRESS.rstrip("/")
    here = split_domain_port(own.partition("://")[2])[0] in _HERE_ONLY
    return request.build_absolute_uri(path) if here else own + path


def other_ways(request: HttpRequest) -> list[str]:
    """This page by the names under which phones may reach it, as far as this machine knows them and answers to them."""
    port = split_domain_port(request.get_host())[1]
    names = [name for name in own_addresses() if validate_host(name, settings.ALLOWED_HOSTS)]
    there = {f"{request.scheme}://{name}{port and ':' + port}" for name in names}
    own = settings.LATHESIDE_ADDRESS.rstrip("/")
    name = split_domain_port(own.partition("://")[2])[0]
    if name not in _HERE_ONLY and validate_host(name, settings.ALLOWED_HOSTS):
        there.add(own)
    return [address + request.get_full_path() for address in sorted(there)]


def where_codes_open(request: HttpRequest) -> dict[str, object]:
    """What parts/codes.html tells of it."""
    only_here = opens_only_here(request)
    return {
        "opens": f"{request.scheme}://{request.get_host()}",
        "only_here": only_here,
        "others": other_ways(request) if only_here else [],
    }
