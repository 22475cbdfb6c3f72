"""The second factor: codes of six digits from an app (TOTP, RFC 6238), and ten recovery codes.

A code is taken one step of 30 seconds early or late, for clocks that differ (RFC 6238, 5.2), and once only: the step
of the last one is kept, and no code of that step or an earlier one counts. A recovery code has 16 signs: two to find
it by, and 70 random bits hashed like a password (NIST SP 800-63B-4, 3.1.2.2 and 4.2.1.1 ask for 64).
"""

import hmac
import secrets
from dataclasses import dataclass

import pyotp
from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.db.models import Q

from shop import clock
from shop.people import brakes
from shop.people.models import Person, RecoveryCode, SecondFactor
from shop.people.secrets import unsealed
from shop.press import record
from shop.press.plain import visible
from shop.refusal import Refused

STEP_S = 30
DIGITS = 6
#: Steps before and after the present one whose codes are taken too.
DRIFT = 1
#: Recovery codes at a time.
HOW_MANY = 10
#: Base 32 as in RFC 4648, small: no 0, 1, 8 and 9 to mistake.
_SIGNS = "abcdefghijklmnopqrstuvwxyz234567"
_SLOT, _SECRET = 2, 14

WRONG = "That code is not right, or was used already. Wait for the next one."


class WrongSecondFactor(Refused):
    """The code is wrong, too old, or was used before."""


def new_secret() -> str:
    """160 bits in base 32, as long as the hash of the codes asks for (RFC 4226, 4, R6)."""
    return pyotp.random_base32(32)


def code_at(secret: str, step: int, digits: int = DIGITS) -> str:
    """The code of one step of 30 seconds since 1970 (RFC 6238, 4.2, with SHA-1)."""
    return str(pyotp.TOTP(secret, digits=digits, interval=STEP_S).generate_otp(step))


def step_now() -> int:
    return int(clock.now().timestamp()) // STEP_S


def step_of(secret: str, typed: str) -> int | None:
    """The step whose code was typed, the latest if several are alike; None if it is none of those that count now."""
    given = "".join(visible(typed).split())
    if not (given.isascii() and given.isdigit() and len(given) == DIGITS):
        return None
    now, found = step_now(), None
    for step in range(now - DRIFT, now + DRIFT + 1):  # all of them, so that it takes as long whichever it is
        if hmac.compare_digest(code_at(secret, step), given):
            found = step
    return found


def address_for_app(secret: str, *, sign_in: str, room: str) -> str:
    """What the app reads from the picture: otpauth://totp/…, with who it is for."""
    return str(pyotp.TOTP(secret, digits=DIGITS, interval=STEP_S).provisioning_uri(name=sign_in, issuer_name=room))


@dataclass(frozen=True)
class Recovery:
    """A recovery code as shown, once."""

    slot: str
    secret: str

    def __str__(self) -> str:
        whole = self.slot + self.secret
        return "-".join(whole[at : at + 4] for at in range(0, len(whole), 4))


def new_recovery_codes() -> list[Recovery]:
    """Ten codes, each found by its first two signs."""
    slots: set[str] = set()
    while len(slots) < HOW_MANY:
        slots.add(_random(_SLOT))
    return [Recovery(slot, _random(_SECRET)) for slot in sorted(slots)]


def _random(length: int) -> str:
    return "".join(secrets.choice(_SIGNS) for _ in range(length))


def hashed(codes: list[str]) -> list[tuple[str, str]]:
    """Slot and hash of each code as shown: to be reckoned outside of a transaction, for it takes its time."""
    plain = [code.replace("-", "") for code in codes]
    return [(code[:_SLOT], make_password(code[_SLOT:])) for code in plain]


def check(person: Person, typed: str) -> None:
    """Take a code of the app or a recovery code, once. Raises HeldUp, or WrongSecondFactor; must stand outside of any
    transaction."""
    braked = {brakes.of_person("second", person): brakes.CLOSE}
    brakes.take(braked, person)
    if not (_takes_code(person, typed) or _takes_recovery(person, typed)):
        raise WrongSecondFactor(WRONG, field="code")
    brakes.passed(braked)


def _takes_code(person: Person, typed: str) -> bool:
    factor = SecondFactor.objects.filter(person=person).first()
    if factor is None or not any(sign.isdigit() for sign in typed):
        return False
    try:
        secret = unsealed(factor.sealed)
    except Refused:
        return False  # the program's key is another one: recovery codes still count
    step = step_of(secret, typed)
    if step is None:
        return False
    # one UPDATE says that no code of this step was taken yet, and takes it
    return bool(SecondFactor.objects.filter(Q(last_step__lt=step), pk=factor.pk).update(last_step=step))


def _takes_recovery(person: Person, typed: str) -> bool:
    given = "".join(sign for sign in visible(typed).lower() if sign in _SIGNS)
    if len(given) != _SLOT + _SECRET:
        return False
    code = RecoveryCode.objects.filter(person=person, slot=given[:_SLOT], used_at=None).first()
    if code is None or not check_password(given[_SLOT:], code.hashed):
        return False
    with transaction.atomic():
        if not RecoveryCode.objects.filter(pk=code.pk, used_at=None).update(used_at=clock.now()):
            return False
        record.write(by=person, act="people.use_recovery_code", thing=person, said={}, changed={})
    return True


def codes_left(person: Person) -> int:
    return RecoveryCode.objects.filter(person=person, used_at=None).count()
