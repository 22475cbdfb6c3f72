"""A label worked out from a classification, and in words what a supplier's sheet says otherwise."""

from collections.abc import Iterable, Iterator

from shop.calc import ghs


def worked_out(hazards: Iterable[tuple[str, str, str]]) -> ghs.Label:
    """The label by the rules of the GHS, from lines of class, category and H statement as they are kept."""
    return ghs.label(ghs.Classified(*line) for line in hazards)


def difference_words(
    worked: ghs.Label, signal: str, pictograms: Iterable[str], h_codes: Iterable[str]
) -> Iterator[str]:
    """What the supplier's sheet says otherwise than the classification here comes to, a sentence each.

    What the rules let a label have or leave off is no difference. h_codes may be combined ones, "H302+H332".
    """
    told, codes = set(pictograms), {part for code in h_codes for part in code.split("+")}
    if signal != worked.signal:
        ours = worked.signal or "none"
        yield f"Signal word: {signal or 'none'} on its sheet, {ours} by the classes written down here."
    if more := sorted(told - set(worked.pictograms) - set(worked.optional)):
        yield f"On its sheet, and not by the classes written down here: {_signs(more)}."
    if fewer := sorted(set(worked.pictograms) - told):
        yield f"By the classes written down here, and not on its sheet: {_signs(fewer)}."
    if more := sorted(codes - set(worked.h_codes), key=ghs.sort_key):
        yield f"Its sheet says {', '.join(more)}, which no class written down here does."
    if fewer := sorted(set(worked.h_codes) - codes - set(worked.may_drop), key=ghs.sort_key):
        yield f"The classes written down here come to {', '.join(fewer)}, which its sheet does not say."


def _signs(codes: Iterable[str]) -> str:
    return ", ".join(f"{ghs.PICTOGRAMS[code].symbol.lower()} ({code})" for code in codes if code in ghs.PICTOGRAMS)
