"""What makes a long password a poor one."""

from django.core.exceptions import ValidationError

#: Fewer different characters than this, and the length is only show.
FEWEST = 5


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
