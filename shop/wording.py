"""Figures and days in words, as every room of the house says them."""

from datetime import date


def per_cent(share: float, decimals: int = 0) -> str:
    """A share from 0 to 1 in per cent, its sign set off by a no-break space, as a unit is."""
    return f"{100 * share:.{decimals}f}\u00a0%"


def chance_words(chance: float) -> str:
    """A chance in percent that never claims certainty."""
    if chance >= 0.995:
        return f"over {per_cent(0.99)}"
    return f"under {per_cent(0.01)}" if chance < 0.005 else per_cent(chance)


def in_full(day: date) -> str:
    """A day for a sentence: "3 March 2025"."""
    return f"{day.day} {day:%B %Y}"


def weekday_in_full(day: date) -> str:
    """A day for a sentence in which its weekday matters: "Monday 3 March 2025"."""
    return f"{day:%A} {in_full(day)}"


def grouped(number: int) -> str:
    """A whole number, from 10 000 on in groups of three: by narrow spaces, which are no decimal mark."""
    return f"{number:,}".replace(",", "\u202f" if abs(number) >= 10_000 else "")
