"""What makes a password a poor one, by NIST SP 800-63B-4, 3.1.1.2.

Long enough, not among those that are tried first, not the same signs over and over, not made of what anybody knows
here. Nothing else: no kinds of signs are asked for, none is forbidden, and none runs out.
"""

import re
from collections.abc import Iterable

from django.core.exceptions import ValidationError

#: Fewer different characters than this, and the length is only show.
FEWEST = 5
#: No password is longer (3.1.1.2 asks for 64 at least): hashing more would be work that a stranger can order.
LONGEST = 256
#: What is left of a password without the words anybody knows must be so long.
OWN = 8
#: Words of a room's name that are too short to tell anything.
_SHORT = 3
_WORD = re.compile(r"[^\W\d_]+")


class NotTooLongValidator:
    """Refuses what is longer than LONGEST characters."""

    def validate(self, password: str, user: object = None) -> None:
        if len(password) > LONGEST:
            raise ValidationError(f"That is too long: take at most {LONGEST} characters.")

    def get_help_text(self) -> str:
        return f"At most {LONGEST} characters."


class NotRepeatedValidator:
    """Refuses a password that is one short piece over and over ("passwordpassword", "aaaaaaaaaaaaaaa")."""

    def validate(self, password: str, user: object = None) -> None:
        if len(set(password)) < FEWEST or self._is_repeated(password):
            raise ValidationError("That is the same few signs over and over. Take several different words.")

    @staticmethod
    def _is_repeated(password: str) -> bool:
        # a text is a repetition of a shorter one exactly when it is found inside its own doubling, ends left off
        return password in (password + password)[1:-1]

    def get_help_text(self) -> str:
        return "Not the same few signs over and over."


def is_made_of(password: str, names: Iterable[str]) -> bool:
    """Whether a password is made of the words of `names` and hardly anything else: the program's, the room's and the
    person's are what a stranger tries first. The whole password is looked at; one that holds such a word among others
    is none of them."""
    known = {word for name in names for word in _WORD.findall(name.casefold()) if len(word) > _SHORT}
    left = password.casefold()
    for word in sorted(known, key=len, reverse=True):
        left = left.replace(word, "")
    return left != password.casefold() and len("".join(_WORD.findall(left))) < OWN
