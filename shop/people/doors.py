"""Coming in and going out: the password, the second step, the sign-in that stands for a session, and its end."""

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.contrib.sessions.models import Session
from django.db.models import QuerySet
from django.http import HttpRequest

from shop import clock
from shop.people import brakes, codes, devices
from shop.people.models import HowIn, Person, SharedDevice, SignIn
from shop.people.models.people import folded
from shop.people.passwords import LONGEST
from shop.people.requests import PersonRequest
from shop.refusal import Refused

#: The first step of two is good for so long.
HALFWAY = timedelta(minutes=10)
#: Somebody who came in by a personal code is asked for the password before an owner's things, once in so long.
ASKED = timedelta(minutes=10)
#: However busy it is, a sign-in ends after so long (NIST SP 800-63B-4, 2.1.3: 30 days at most).
LONGEST_IN = timedelta(days=30)
#: How often it is noted that somebody is still there.
SEEN_EVERY = timedelta(minutes=5)

#: Said to a wrong password, an unknown name and one who is switched off alike.
NOT_TOGETHER = "That name and password do not go together. Mind small and capital letters in the password."
_BACKEND = settings.AUTHENTICATION_BACKENDS[0]


def try_password(request: HttpRequest, name: str, password: str) -> Person | None:
    """The person of that name and password; None where they do not go together. Raises HeldUp.

    An unknown name is braked like a known one and costs as much work. A device that knows the person has brakes of its
    own: neither misses elsewhere on the account nor those of others behind the same address hold it up.
    """
    meant = Person.objects.filter(sign_in__iexact=folded(name)).first()
    device = devices.knows(request, meant) if meant else ""
    if meant and device:
        braked = {brakes.of_person("device", meant, device): brakes.CLOSE}
    else:
        braked = {
            brakes.account(name): brakes.CLOSE,
            brakes.address(request.META.get("REMOTE_ADDR", "")): brakes.WIDE,
        }
    brakes.take(braked, meant)
    if len(password) > LONGEST:  # nobody has one, and hashing a megabyte is work for nothing
        return None
    found = authenticate(request, username=name, password=password)
    if not isinstance(found, Person):
        return None
    brakes.passed(braked)
    return found


def confirm_password(person: Person, password: str) -> None:
    """See that whoever is signed in knows the password. Raises HeldUp, or Refused; outside of any transaction."""
    braked = {brakes.of_person("own", person): brakes.CLOSE}
    brakes.take(braked, person)
    if len(password) > LONGEST or not person.check_password(password):
        raise Refused("That is not your password now.")
    brakes.passed(braked)


# The first of two steps -----------------------------------------------------------------------------------------------


def go_halfway(request: HttpRequest, person: Person) -> None:
    """Remember that the password was right; the session is still nobody's."""
    request.session.flush()
    request.session["halfway"] = [person.pk, clock.now().timestamp(), person.get_session_auth_hash()]


def who_is_halfway(request: HttpRequest) -> Person | None:
    """The person whose password was given a moment ago, if it is still theirs and they may sign in."""
    match request.session.get("halfway"):
        case [int(pk), float(at), str(mark)]:
            person = Person.objects.filter(pk=pk, is_active=True).first()
            in_time = clock.now().timestamp() - at < HALFWAY.total_seconds()
            if person and in_time and person.get_session_auth_hash() == mark:
                return person
    return None


# In and out -----------------------------------------------------------------------------------------------------------


def let_in(request: HttpRequest, person: Person, how: HowIn, device: SharedDevice | None = None) -> SignIn:
    """Begin a session for them, with a fresh key, and the sign-in that tells of it.

    device: the shared one it is on, if any; there it locks when idle.
    """
    request.session.pop("halfway", None)
    login(request, person, backend=_BACKEND)
    session, now = request.session, clock.now()
    session["how"], session["since"], session["at"] = str(how), now.timestamp(), now.timestamp()
    if device:
        session["device"] = device.pk
    if not session.session_key:
        session.create()
    begun = SignIn.objects.create(
        person=person,
        how=how,
        device=device,
        words=device.name if device else devices.words(request),
        key=session.session_key or "",
        since=now,
        seen_at=now,
    )
    session["sign_in"] = begun.pk
    if how != HowIn.CODE:
        codes.wake(person)
    return begun


def _sign_in_of(request: HttpRequest) -> int:
    """The number of the sign-in that stands for this session; 0, which none has, for a session without."""
    return int(request.session.get("sign_in", 0))


def let_out(request: HttpRequest) -> None:
    """End this session."""
    SignIn.objects.filter(pk=_sign_in_of(request), ended_at=None).update(ended_at=clock.now())
    logout(request)


def note_here(request: HttpRequest) -> None:
    """Let the sign-in follow its session to a fresh key, after the password was changed in it."""
    SignIn.objects.filter(pk=_sign_in_of(request)).update(key=request.session.session_key or "")


def note_seen(request: PersonRequest, now: datetime) -> None:
    """Note that they are there: in the session every quarter of a minute on a shared device, else every five minutes,
    as at the sign-in."""
    session = request.session
    every = timedelta(seconds=15) if "device" in session else SEEN_EVERY
    if "at" not in session or now.timestamp() - session["at"] < every.total_seconds():
        return
    session["at"] = now.timestamp()
    SignIn.objects.filter(pk=_sign_in_of(request), seen_at__lte=now - SEEN_EVERY).update(seen_at=now)


def is_idle_too_long(request: PersonRequest, now: datetime) -> bool:
    """Whether a shared device was left alone for longer than the room allows."""
    if "device" not in request.session:
        return False
    idle = now.timestamp() - request.session.get("at", 0)
    return bool(idle > 60 * request.room.tablet_idle_minutes)


def is_over(request: HttpRequest, now: datetime) -> bool:
    since = request.session.get("since")
    return since is not None and now.timestamp() - since > LONGEST_IN.total_seconds()


def asks_again(request: HttpRequest) -> bool:
    """Whether the password is to be asked for before an owner's things: the code alone does not open them."""
    if request.session.get("how") != HowIn.CODE:
        return False
    asked = request.session.get("asked", 0)
    return bool(clock.now().timestamp() - asked > ASKED.total_seconds())


def note_asked(request: HttpRequest) -> None:
    request.session["asked"] = clock.now().timestamp()


def device_of(request: HttpRequest) -> str:
    """What to say for the device of a request, for the brakes: the shared one, else this session."""
    if "device" in request.session:
        return f"shared:{request.session['device']}"
    return f"session:{request.session.get('sign_in') or request.session.session_key}"


# Ends -----------------------------------------------------------------------------------------------------------------


def end_sessions(person: Person, *, but: str = "") -> None:
    """Sign the person out everywhere, for good, but for the session of the key `but`: a session left over must not
    come alive again with the person."""
    for session in Session.objects.select_for_update().iterator():
        if session.session_key != but and session.get_decoded().get("_auth_user_id") == str(person.pk):
            session.delete()
    _note_ended(person.sign_ins.exclude(key=but) if but else person.sign_ins.all())


def end_sign_ins(these: QuerySet[SignIn]) -> None:
    """End these sign-ins and their sessions."""
    keys = list(these.filter(ended_at=None).values_list("key", flat=True))
    Session.objects.filter(session_key__in=keys).delete()
    _note_ended(these)


def _note_ended(these: QuerySet[SignIn]) -> None:
    these.filter(ended_at=None).update(ended_at=clock.now())


def forget_old_sign_ins() -> str:
    """Note the end of sign-ins whose session was cleared away, and remove those that ended over a year ago."""
    now = clock.now()
    _note_ended(SignIn.objects.exclude(key__in=Session.objects.values("session_key")))
    count, _ = SignIn.objects.filter(ended_at__lt=now - timedelta(days=400)).delete()
    return f"{count} forgotten"
