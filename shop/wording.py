"""Figures in words, as every room of the house says them."""


def chance_words(chance: float) -> str:
    """A chance in percent that never claims certainty."""
    if chance >= 0.995:
        return "over 99%"
    return "under 1%" if chance < 0.005 else f"{100 * chance:.0f}%"
