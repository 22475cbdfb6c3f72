"""The ways through the house: the main places, and the pages of each."""

from collections.abc import Collection
from dataclasses import dataclass, field
from functools import lru_cache
from urllib.parse import urlsplit

from django.http import HttpRequest
from django.urls import Resolver404, get_script_prefix, resolve, reverse

from shop.people.models import ENGINEERS, EVERYONE, HANDS, OWNERS


@dataclass(frozen=True)
class Way:
    """A link. name: of its address; roles: whom it is shown to; below: pages under it whose addresses do not say so."""

    label: str
    name: str
    roles: frozenset[str] = field(default=EVERYONE)
    below: tuple[str, ...] = ()


@dataclass(frozen=True)
class Place:
    """One of the main places. spaces: the address namespaces whose pages belong to it; icon: its name in parts/icon."""

    label: str
    icon: str
    spaces: tuple[str, ...]
    first: str
    pages: tuple[Way, ...] = ()


PLACES = (
    Place(
        "Today",
        "today",
        ("morning", "watch", "log"),
        "morning:today",
        (
            Way("Today", "morning:today"),
            Way("Log", "log:notes", HANDS, below=("log:note",)),
            Way("What’s next", "training:next", HANDS, below=("training:answer-question",)),
            Way("Checks", "morning:checks"),
            Way("Alerts", "watch:alerts", below=("watch:set-line", "watch:change-watch-rules")),
            Way("Questions", "morning:change-questions", ENGINEERS),
        ),
    ),
    Place(
        "Cutting",
        "cutting",
        ("cutting",),
        "cutting:bookings",
        (
            Way("Bookings", "cutting:bookings", below=("cutting:costs", "cutting:change-cost-figures")),
            Way("Day", "cutting:day-plan", below=("cutting:change-plan-figures", "cutting:head-steps")),
            Way("Cut a side", "cutting:start-side", HANDS),
            Way("Sides cut", "cutting:sides"),
            Way("Styli", "cutting:styli", below=("cutting:strike-noise-level",)),
            Way("Plan a side", "cutting:plan-side"),
            Way(
                "Plating", "cutting:plating", below=("cutting:parcel", "cutting:note-arrival", "cutting:report-masters")
            ),
            Way("Looking back", "cutting:looking-back"),
            Way("Trace", "cutting:trace"),
        ),
    ),
    Place(
        "Stock",
        "stock",
        ("stock",),
        "stock:items",
        (
            Way("On hand", "stock:items", below=("stock:worth",)),
            Way("Outlook", "stock:outlook"),
            Way("Lots", "stock:lots", below=("stock:compare-lots", "stock:lot-labels", "stock:shelf-labels")),
            Way("Orders", "stock:orders", below=("stock:receive-on-order",)),
            Way("Counts", "stock:counts"),
            Way("Ledger", "stock:ledger"),
            Way("Suppliers", "stock:suppliers"),
            Way("Defects", "stock:defects"),
            Way("In and out", "stock:in-and-out"),
        ),
    ),
    Place(
        "Room",
        "room",
        ("room",),
        "room:room",
        (
            Way("Now", "room:room"),
            Way("Readings", "room:readings"),
            Way("Cylinders", "room:cylinders"),
            Way(
                "Containers",
                "safety:containers",
                below=(
                    "safety:container",
                    "safety:open-container",
                    "safety:read-level",
                    "safety:move-container",
                    "safety:finish-container",
                    "safety:set-open-days",
                ),
            ),
            Way("Instruments", "room:instruments"),
            Way("Air", "room:air"),
            Way("Line", "room:line"),
            Way("Chip", "room:chip"),
        ),
    ),
    Place(
        "Care",
        "care",
        ("duties",),
        "duties:due",
        (
            Way("Due", "duties:due"),
            Way("Month", "duties:month"),
            Way(
                "Duties",
                "duties:duties",
                below=(
                    "duties:duty",
                    "duties:add-duty",
                    "duties:change-duty",
                    "duties:stop-duty",
                    "duties:resume-duty",
                ),
            ),
            Way("Meters", "duties:meters"),
        ),
    ),
    Place(
        "Hazards",
        "hazards",
        ("safety",),
        "safety:hazards",
        (
            Way("Hazards", "safety:hazards"),
            Way("Substances", "safety:substances", below=("safety:add-substance",)),
            Way(
                "Hazard sheets",
                "safety:hazard-sheets",
                below=("safety:sheet-version", "safety:withdraw-version", "safety:confirm-sheet-read"),
            ),
            Way("Suppliers' sheets", "safety:supplier-sheets"),
            Way("On the wall", "safety:wall"),
            Way("Incidents", "safety:incidents"),
            Way("Places", "safety:places", below=("safety:answer-finding",)),
            Way("What if", "safety:what-if"),
            Way("Binder", "safety:binder"),
            Way("Labels", "safety:labels"),
        ),
    ),
    Place(
        "More",
        "more",
        ("people", "record", "training"),
        "people:more",
        (
            Way("My settings", "people:settings", below=("people:change-password",)),
            Way(
                "Signing in",
                "people:sign-ins",
                below=(
                    "people:turn-on-second-factor",
                    "people:turn-off-second-factor",
                    "people:renew-recovery-codes",
                    "people:set-personal-code",
                ),
            ),
            Way("How I am told", "watch:change-wishes", below=("watch:renew-feed", "watch:close-feed")),
            Way("People", "people:people"),
            Way("Who may do what", "training:acts"),
            Way(
                "Programmes",
                "training:programmes",
                below=(
                    "training:step",
                    "training:change-step",
                    "training:move-step",
                    "training:stop-step",
                    "training:resume-step",
                    "training:change-questions",
                ),
            ),
            Way("Who learns what", "training:board", HANDS, below=("training:enrol", "training:change-training-rules")),
            Way("The room", "people:change-room", OWNERS, below=("people:change-sign-in-rules",)),
            Way("Shared devices", "people:shared-devices", OWNERS),
            Way("Mail", "watch:deliveries", OWNERS),
            Way("Record", "record:record", OWNERS),
            Way("Health", "watch:health"),
        ),
    ),
)


def _nearest(way_addresses: list[str], path: str) -> str:
    """The address of the page one is on or below: the longest that the path begins with."""
    return max((address for address in way_addresses if path.startswith(address)), key=len, default="")


def _place_of(here: str, space: str) -> Place | None:
    """The place a page belongs to: the one that names it, else the one its address namespace is of."""
    naming = (place for place in PLACES if any(here == way.name or here in way.below for way in place.pages))
    return next(naming, None) or next((place for place in PLACES if space in place.spaces), None)


@lru_cache(maxsize=512)
def _address_of(name: str, under: str) -> str:
    """The address of a page where the program answers under that path: each page names seventy."""
    return reverse(name)


def places(request: HttpRequest) -> list[dict[str, object]]:
    """The main places for this page: label, icon, address, pages, and which is the present one."""
    match = request.resolver_match
    space = match.namespace if match else ""
    here = match.view_name if match else ""
    role = getattr(request.user, "role", "")
    at = _place_of(here, space)
    under = get_script_prefix()
    found: list[dict[str, object]] = []
    for place in PLACES:
        ways = {_address_of(way.name, under): way for way in place.pages if role in way.roles}
        told = [address for address, way in ways.items() if here in way.below]
        nearest = told[0] if told else "" if here == place.first else _nearest(list(ways), request.path)
        found.append(
            {
                "label": place.label,
                "icon": place.icon,
                "address": _address_of(place.first, under),
                "pages": [
                    {
                        "label": way.label,
                        "address": address,
                        "current": "page" if way.name == here else "true" if address == nearest else "",
                    }
                    for address, way in ways.items()
                ],
                "here": place is at,
                "current": place.first == here,
            }
        )
    return found


def opens(address: str, role: str) -> bool:
    """Whether the page at `address` (a path, with or without what follows it) is for people of that role."""
    roles = _roles_of(urlsplit(address).path)
    return roles is None or role in roles


@lru_cache(maxsize=2048)
def _roles_of(path: str) -> Collection[str] | None:
    """The roles that the page at this path is for; None where it is everybody's, and nobody's where there is none."""
    try:
        view = resolve(path).func
    except Resolver404:
        return ()
    roles: Collection[str] | None = getattr(view, "roles", None)
    return roles
