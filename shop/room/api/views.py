"""The addresses that instruments ask. Every answer is JSON; a refusal is a problem of RFC 9457."""

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from shop import clock
from shop.calc import units
from shop.people.brakes import address
from shop.people.secrets import digest_of
from shop.room.api import pace
from shop.room.api.body import MOST_BODY, MOST_READINGS, Unreadable, read_batch
from shop.room.api.description import described
from shop.room.intake import Revoked, take_in
from shop.room.kinds import KINDS
from shop.room.models import Instrument
from shop.room.sent import Outcome

#: Longer than any token of ours.
_LONGEST_TOKEN = 200


def problem(status: int, title: str, detail: str, **headers: str) -> JsonResponse:
    """A refusal as RFC 9457 has it."""
    told = {"type": "about:blank", "title": title, "status": status, "detail": detail}
    return JsonResponse(told, status=status, content_type="application/problem+json", headers=headers)


def _unknown() -> JsonResponse:
    # the same for a token that never was and for one that was revoked
    return problem(
        401,
        "No such token",
        "Send the instrument's token as Authorization: Bearer and the token. One that was revoked counts no more.",
        **{"WWW-Authenticate": 'Bearer realm="latheside"'},
    )


def for_instruments(*methods: str) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """For an address that instruments ask: no sign-in, no cookies, the token, and not too often."""

    def dress(view: Callable[[HttpRequest, Instrument], HttpResponse]) -> Callable[..., HttpResponse]:
        @csrf_exempt
        @login_not_required
        @require_http_methods(list(methods))
        @wraps(view)
        def ask(request: HttpRequest) -> HttpResponse:
            try:
                pace.count(address(request.META.get("REMOTE_ADDR", "")), pace.OF_ADDRESS)
                instrument = _whose(request)
                if instrument is None:
                    return _unknown()
                pace.count(f"instrument:{instrument.pk}", pace.OF_INSTRUMENT)
                return view(request, instrument)
            except Revoked:
                return _unknown()
            except pace.TooOften as often:
                who = "An instrument" if often.most == pace.OF_INSTRUMENT else "All that ask from one address together"
                return problem(
                    429,
                    "Too often",
                    f"{who} may ask {often.most} times a minute. Wait {often.wait_s} s, and send several readings at "
                    "once.",
                    **{"Retry-After": str(often.wait_s)},
                )

        return ask

    return dress


def _whose(request: HttpRequest) -> Instrument | None:
    """The instrument whose token the request carries."""
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    if scheme.lower() != "bearer" or not 0 < len(token) <= _LONGEST_TOKEN or not token.isascii():
        return None
    return Instrument.objects.filter(digest=digest_of(token.strip()), revoked_at=None).first()


@for_instruments("POST")
def send_readings(request: HttpRequest, instrument: Instrument) -> HttpResponse:
    """Take a batch in: what became of each reading, in the order in which they were sent."""
    try:
        length = int(request.headers.get("Content-Length") or 0)
    except ValueError:
        length = 0
    if length > MOST_BODY:
        return problem(
            413,
            "Too large",
            f"A batch is {MOST_BODY // 1024} KiB at most, and was not read. Send fewer readings at once, up to "
            f"{MOST_READINGS}.",
        )
    if request.content_type != "application/json":
        return problem(415, "Not JSON", "Send it as Content-Type: application/json.")
    try:
        sent = read_batch(request.body)
    except Unreadable as no:
        return problem(400, "Not a batch of readings", str(no))
    outcomes = take_in(instrument, sent)
    counts = {what: sum(one.what == what for one in outcomes) for what in ("kept", "known", "refused")}
    return JsonResponse({**counts, "results": [_told(one) for one in outcomes]})


def _told(one: Outcome) -> dict[str, str]:
    return {"outcome": one.what, **({"code": one.code, "reason": one.reason} if one.code else {})}


@for_instruments("GET", "HEAD")
def this_instrument(request: HttpRequest, instrument: Instrument) -> HttpResponse:
    """What the token may write, and what time it is here: for an instrument without a clock of its own."""
    return JsonResponse(
        {
            "name": instrument.name,
            "now": f"{clock.now():%Y-%m-%dT%H:%M:%SZ}",
            "every_min": instrument.every_min,
            "kinds": [
                {"kind": kind, "name": KINDS[kind].name, "units": list(units.UNITS[KINDS[kind].quantity])}
                for kind in instrument.reads
            ],
        }
    )


@login_not_required
@require_safe
def description(request: HttpRequest) -> HttpResponse:
    """The interface in OpenAPI 3.1. It holds nothing of this room, and is shown to anybody who reaches it."""
    return JsonResponse(described(), json_dumps_params={"indent": 1})
