"""CAS and UN numbers: whether one is written right. What they name, only the supplier's sheet says."""

import re

_CAS = re.compile(r"([0-9]{2,7})-([0-9]{2})-([0-9])")


def checked_cas(number: str) -> str:
    """A CAS registry number whose check digit is right: the digits before it, from the right times 1, 2, 3 …, mod 10.

    Source: CAS, "Check digit verification of CAS registry numbers". ValueError for anything else.
    """
    match = _CAS.fullmatch(number.strip())
    if match is None:
        raise ValueError(f"number must look like 67-64-1, not {number[:20]!r}.")
    digits = (match[1] + match[2])[::-1]
    if sum(place * int(digit) for place, digit in enumerate(digits, 1)) % 10 != int(match[3]):
        raise ValueError("number has a check digit that does not fit its other digits: one of them is mistyped.")
    return match[0]


def checked_un(number: str) -> str:
    """A UN number as four digits, "1090", with or without "UN" before it. ValueError for anything else."""
    match = re.fullmatch(r"(?:UN ?)?([0-9]{4})", number.strip(), re.IGNORECASE | re.ASCII)
    if match is None or match[1] == "0000":
        raise ValueError(f"number must be four digits, like 1090, not {number[:20]!r}.")
    return match[1]
