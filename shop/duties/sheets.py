"""Which hazard sheet a duty leads to. A higher room registers its sheets; until one has, no page shows a link."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Sheet:
    """A hazard sheet as duties know it. title: how it is called; link: path of its page."""

    title: str
    link: str


#: Asked for slugs: the sheets among them that there are, by slug. And for all that may be chosen from: with None.
SheetsQuestion = Callable[[Collection[str] | None], Mapping[str, Sheet]]

_question: SheetsQuestion | None = None


def register_sheets(question: SheetsQuestion | None) -> None:
    """Let `question(slugs)` say which sheets there are, in place of whoever said so before; None for nobody."""
    global _question
    _question = question


def sheet(slug: str) -> Sheet | None:
    """The sheet of that slug, if there is one."""
    return _question([slug]).get(slug) if _question is not None and slug else None


def all_sheets() -> dict[str, Sheet]:
    """Every sheet there is to choose from, by slug."""
    return dict(_question(None)) if _question is not None else {}
