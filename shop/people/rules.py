"""What names, passwords and settings must be, wherever they are given: in the program or where a room is opened.

Each function gives back the value to keep, or raises Refused with a sentence for `field`.
"""

from zoneinfo import available_timezones

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from shop.people.models import Person
from shop.people.models.people import one_spelling
from shop.people.passwords import is_made_of
from shop.people.queries import the_room
from shop.press.rules import words
from shop.refusal import Refused

#: What to say of a password that Django's validators turn down, by their code; our own have their sentences.
_POOR = {
    "password_too_short": "That is too short: take at least %(min_length)s characters.",
    "password_too_common": "That is one of the passwords that are tried first. Take a few words of your own.",
    "password_too_similar": "That is too much like the name or the sign-in name. Take something else.",
}


def check_name(name: str, field: str = "name") -> str:
    """A name fit to be kept, without outer blanks; Refused for an empty or an endless one."""
    name = words(name, field=field, longest=80)
    if not name:
        raise Refused("Give a name.", field=field)
    return name


def check_zone(zone: str) -> str:
    if zone not in available_timezones():
        raise Refused(
            f"{zone or 'That'} is not a time zone. Give it as region and town, as in Europe/Lisbon or America/Chicago.",
            field="zone",
        )
    return zone


def check_currency(currency: str) -> str:
    code = currency.strip().upper()
    if len(code) != 3 or not (code.isascii() and code.isalpha()):
        raise Refused("A currency is given by its three letters, as in EUR or USD.", field="currency")
    return code


def check_sign_in(sign_in: str) -> str:
    sign_in = words(sign_in, field="sign_in", longest=1000)
    if not sign_in or len(sign_in) > 60 or " " in sign_in:
        raise Refused("A sign-in name has 1 to 60 letters and no blanks.", field="sign_in")
    return sign_in


def check_email(email: str) -> str:
    """A mail address, or "" for none; Refused for what can be none: of several lines, say, which would be headers."""
    given = email.strip(" ")
    if given:
        try:
            validate_email(given)
        except ValidationError:
            raise Refused("That is not a mail address. Write it as name@shop.example.", field="email") from None
        if len(given) > 254:
            raise Refused("Keep it to 254 characters.", field="email")
    return given


def check_password(password: str, person: Person | None = None, *, room: str | None = None) -> str:
    """The password as it is hashed; Refused, with all that is wrong in one sentence, for one the rules turn down.

    room: the room's name, where its row is not there yet.
    """
    password = one_spelling(password) or ""
    try:
        validate_password(password, person)
    except ValidationError as wrong:
        said = [
            _POOR[one.code] % (one.params or {}) if one.code in _POOR else str(one.message) for one in wrong.error_list
        ]
        raise Refused(" ".join(said), field="password") from wrong
    names = ["latheside", the_room().name if room is None else room]
    if person is not None:
        names += [person.name, person.sign_in, person.email.partition("@")[0]]
    if is_made_of(password, names):
        raise Refused(
            "That is made of names anybody here knows. Take a few words that have nothing to do with them.",
            field="password",
        )
    return password
