"""Figures in words, as every room of the house says them."""


def per_cent(share: float, decimals: int = 0) -> str:
    """A share from 0 to 1 in per cent, its sign set off by a no-break space, as a unit is."""
    return f"{100 * share:.{decimals}f}\u00a0%"


def chance_words(chance: float) -> str:
    """A chance in percent that never claims certainty."""
    if chance >= 0.995:
        return f"over {per_cent(0.99)}"
    return f"under {per_cent(0.01)}" if chance < 0.005 else per_cent(chance)
