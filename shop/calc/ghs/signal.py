"""Signal words: a label has one at most."""

from collections.abc import Iterable

DANGER = "Danger"
WARNING = "Warning"
SIGNALS = (DANGER, WARNING)


def one_signal(words: Iterable[str]) -> str:
    """The one signal word a label shows: "Danger" drops "Warning"; "" where there is none. UN GHS 1.4.10.5.3.2.

    words: "Danger", "Warning", or "" for none. ValueError for any other.
    """
    found = set(words) - {""}
    if unknown := found - set(SIGNALS):
        raise ValueError(f"words must be Danger or Warning, not {sorted(unknown)[0]!r}.")
    return DANGER if DANGER in found else WARNING if WARNING in found else ""
