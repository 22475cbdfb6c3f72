"""Codes of statements: "H225", "H360FD", "EUH066", "P303+P361+P353"."""

import re

_ONE = re.compile(r"(?P<kind>EUH|H|P)(?P<number>[0-9]{3})(?P<more>[A-Za-z]{0,2})")
_SPACE = re.compile(r"\s+")
_ORDER = {"H": 0, "EUH": 1, "P": 2}


def parts(code: str) -> tuple[str, ...]:
    """The single codes of a code as people write it: "p303 + p361+P353" gives ("P303", "P361", "P353").

    The letters after a number keep their size, for they mean something: H360Fd is not H360FD. ValueError for what is
    not a code, and for one that mixes kinds.
    """
    found = []
    for piece in _SPACE.sub("", str(code)).split("+"):
        lead = re.match(r"(?i:EUH|H|P)", piece)
        match = _ONE.fullmatch(piece[: lead.end()].upper() + piece[lead.end() :]) if lead else None
        if match is None:
            raise ValueError(f"code must look like H225, EUH066 or P303+P361+P353, not {str(code)[:30]!r}.")
        found.append(match)
    if len({match["kind"] for match in found}) > 1:
        raise ValueError(f"code must be of one kind, H, EUH or P, not {str(code)[:30]!r}.")
    return tuple(match[0] for match in found)


def written(code: str) -> str:
    """A code as the program keeps it: "P303+P361+P353". ValueError as by `parts`."""
    return "+".join(parts(code))


def sort_key(code: str) -> tuple[int, str]:
    """For putting codes in the order of the lists: H, EUH, P, each by number."""
    kind = re.match("EUH|H|P", code)
    return (_ORDER[kind[0]] if kind else 3, code)
