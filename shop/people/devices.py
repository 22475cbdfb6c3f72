"""Devices: what one seems to be, whom it knows, and whether an owner named it as shared.

Two signed cookies, out of reach of scripts. One knows the people who came in here with their password, by a mark that
a new password makes void; misses of strangers elsewhere do not hold them up here. The other holds the secret of a
shared device, whose digest is a row that an owner may end.
"""

import re
from typing import Any

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare

from shop.people.models import Person, SharedDevice
from shop.people.secrets import digest_of, new_secret

_PREFIX = "__Host-" if settings.HTTPS else ""
KNOWN, SHARED = f"{_PREFIX}known", f"{_PREFIX}shared"
_SALT_KNOWN, _SALT_SHARED = "shop.people.known", "shop.people.shared"
#: Browsers keep no cookie longer.
KEPT_S = 400 * 24 * 3600
#: People whom one device knows at most: the latest.
MOST_KNOWN = 12


def _read(request: HttpRequest, name: str, salt: str) -> Any:
    try:
        return signing.loads(request.COOKIES.get(name, ""), salt=salt, max_age=KEPT_S)
    except signing.BadSignature:
        return None


def _keep(response: HttpResponse, name: str, salt: str, value: Any) -> None:
    response.set_cookie(
        name,
        signing.dumps(value, salt=salt),
        max_age=KEPT_S,
        httponly=True,
        secure=settings.HTTPS,
        samesite="Lax",
    )


# Known ----------------------------------------------------------------------------------------------------------------


def _mark(person: Person) -> str:
    return str(person.get_session_auth_hash()[:24])


def _known(request: HttpRequest) -> tuple[str, dict[str, str]]:
    """The device's own name, made now if it has none, and whom it knows."""
    kept = _read(request, KNOWN, _SALT_KNOWN)
    match kept:
        case {"device": str(device), "people": dict(people)}:
            return device, people
    return new_secret()[:22], {}


def knows(request: HttpRequest, person: Person) -> str:
    """The name of the device if this person came in here before, with the password of now; else ""."""
    device, people = _known(request)
    return device if constant_time_compare(people.get(str(person.pk), ""), _mark(person)) else ""


def remember(response: HttpResponse, request: HttpRequest, person: Person) -> None:
    """Let the device know this person, who has just come in."""
    device, people = _known(request)
    people.pop(str(person.pk), None)
    people[str(person.pk)] = _mark(person)
    latest = dict(list(people.items())[-MOST_KNOWN:])
    _keep(response, KNOWN, _SALT_KNOWN, {"device": device, "people": latest})


# Shared ---------------------------------------------------------------------------------------------------------------


def shared(request: HttpRequest) -> SharedDevice | None:
    """The shared device that is asking; None for another, and for one that was ended."""
    secret = _read(request, SHARED, _SALT_SHARED)
    if not isinstance(secret, str):
        return None
    return SharedDevice.objects.filter(digest=digest_of(secret), ended_at=None).first()


def share(response: HttpResponse, secret: str) -> None:
    """Give this browser the secret of the device that was just named."""
    _keep(response, SHARED, _SALT_SHARED, secret)


# Words ----------------------------------------------------------------------------------------------------------------

#: In this order: each names itself beside those it descends from.
_BROWSERS = (
    ("Edg(?:e|A|iOS)?/", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("Firefox/|FxiOS/", "Firefox"),
    ("Chrom(?:e|ium)/|CriOS/", "Chrome"),
    ("Safari/", "Safari"),
)
_SYSTEMS = (
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh|Mac OS X", "macOS"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)


def words(request: HttpRequest) -> str:
    """What the browser says it is, in two words: enough to tell one's own phone from another's desk."""
    agent = request.headers.get("User-Agent", "")[:400]
    browser = next((name for pattern, name in _BROWSERS if re.search(pattern, agent)), "")
    system = next((name for pattern, name in _SYSTEMS if re.search(pattern, agent)), "")
    return " on ".join(word for word in (browser, system) if word) or "An unknown device"
