"""The ways an action says no. Each carries one sentence fit to show, and the form field it belongs to, if any."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any


class Refused(Exception):
    """An action would not do it; nothing was written."""

    status = 422

    def __init__(self, sentence: str, *, field: str | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field


class NotEnough(Refused):
    """There is less than was asked for."""

    status = 409


#: Said to whoever asks for what their role does not reach to.
NOT_YOUR_ROLE = "Your role here does not let you do that. Ask the owner or an engineer."
#: Said to whoever asks for a page or a file that is not shown to their role.
NOT_SHOWN = "Your role here does not show you that. Ask the owner or an engineer."
#: The roles of what only an owner may.
_OWNERS_ONLY = frozenset({"owner"})


def ask_whom(sentence: str, roles: Collection[str]) -> str:
    """One of the two sentences, naming those of whom it is to be asked: of these roles, the owner or an engineer."""
    return sentence.replace("the owner or an engineer", "the owner") if set(roles) == _OWNERS_ONLY else sentence


class NotAllowed(Refused):
    """This person's role does not reach that far."""

    status = 403

    def __init__(self, sentence: str = NOT_YOUR_ROLE, *, field: str | None = None) -> None:
        super().__init__(sentence, field=field)


class TokenTrouble(Refused):
    """The form's one-time token is missing, another's, or was used with something else typed in.

    was_saved: whether this person saved this form with it before; first: the record that came of that, if one did.
    """

    status = 409

    def __init__(self, sentence: str, *, field: str | None = None, was_saved: bool = False, first: Any = None) -> None:
        super().__init__(sentence, field=field)
        self.first = first
        self.headline = "Not saved a second time" if was_saved else "Not saved"


class Changed(Refused):
    """Somebody changed it in between."""

    status = 409


@dataclass(frozen=True)
class Doubt:
    """Something typed that can be right but looks wrong. `key` goes into `sure=` once the person has confirmed it.

    confirm: what the tick says that confirms it, where the sentence alone does not say it.
    """

    key: str
    field: str
    sentence: str
    confirm: str = ""

    @property
    def tick(self) -> str:
        """What a person says by ticking it; never only the name of a box, which may say something else."""
        if self.confirm:
            return self.confirm
        said, stop, question = self.sentence.rpartition(". ")
        if not self.sentence.endswith("?"):
            said, stop = self.sentence, ""
        elif not said:
            return f"Yes: {question}"
        yes = question.removesuffix("?") if question.endswith(" all the same?") else "It is right all the same"
        return f"{yes}: {said}{stop.strip()}"


class Doubtful(Refused):
    """The action asks the person to look again; pressing once more with the keys in `sure` goes through."""

    def __init__(self, doubts: Iterable[Doubt]) -> None:
        self.doubts = tuple(doubts)
        super().__init__(" ".join(doubt.sentence for doubt in self.doubts))


def ask_unless_sure(doubts: Iterable[Doubt], sure: Iterable[str]) -> None:
    """Raise Doubtful for those doubts the person has not confirmed."""
    confirmed = set(sure)
    open_doubts = [doubt for doubt in doubts if doubt.key not in confirmed]
    if open_doubts:
        raise Doubtful(open_doubts)
