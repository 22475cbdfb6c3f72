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
#: Rows of keys and of signs that hands run along: the digits, the alphabet, three layouts of a keyboard.
_ROWS = (
    *("01234567890", "abcdefghijklmnopqrstuvwxyz"),
    *("qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "yxcvbnm", "azertyuiop", "qsdfghjklm", "wxcvbn"),
)
#: So many signs that follow one another in a row are a run.
_RUN = 4


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

    @classmethod
    def _is_repeated(cls, password: str) -> bool:
        """Also if it is written apart, or with other capitals: "Password password"."""
        bare = "".join(sign for sign in password.casefold() if sign.isalnum())
        return cls._is_doubled(password) or (len(bare) > OWN and cls._is_doubled(bare))

    @staticmethod
    def _is_doubled(password: str) -> bool:
        # a text is a repetition of a shorter one exactly when it is found inside its own doubling, ends left off
        return password in (password + password)[1:-1]

    def get_help_text(self) -> str:
        return "Not the same few signs over and over."


class NotInARowValidator:
    """Refuses what is made of signs as they follow one another, on the keyboard, in the alphabet or in counting
    ("123456789012345", "qwertyuiopasdfgh"), and of hardly anything else."""

    def validate(self, password: str, user: object = None) -> None:
        if len(_without_runs(password.casefold())) < OWN:
            raise ValidationError("Those are signs in their order. Take several different words.")

    def get_help_text(self) -> str:
        return "Not signs in their order."


def _without_runs(text: str) -> str:
    """What is left of a text without each run of signs as they stand in a row, forwards or backwards."""
    left, place = [], 0
    while place < len(text):
        run = 1
        while place + run < len(text) and _is_in_a_row(text[place : place + run + 1]):
            run += 1
        if run < _RUN:
            left.append(text[place])
            run = 1
        place += run
    return "".join(left)


def _is_in_a_row(signs: str) -> bool:
    return any(signs in row or signs[::-1] in row for row in _ROWS)


def is_made_of(password: str, names: Iterable[str]) -> bool:
    """Whether a password is made of the words of `names` and hardly anything else: the program's, the room's and the
    person's are what a stranger tries first. The whole password is looked at; one that holds such a word among others
    is none of them."""
    known = {word for name in names for word in _WORD.findall(name.casefold()) if len(word) > _SHORT}
    left = password.casefold()
    for word in sorted(known, key=len, reverse=True):
        left = left.replace(word, "")
    return left != password.casefold() and len("".join(_WORD.findall(left))) < OWN
