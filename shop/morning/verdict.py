"""The verdict is the worst concern, in other words."""

from collections.abc import Iterable

from shop.concern import Concern, Grade, worst
from shop.morning.models import Verdict

#: What each verdict says, in small print beside it. None of them says more than the concerns do.
MEANING = {
    Verdict.CLEAR: "Nothing on the list and nothing the records know speaks against it. The engineer decides.",
    Verdict.CARE: "The reasons below want care before or during the cut. The engineer decides.",
    Verdict.HOLD: "At least one reason below is to be put right before a head goes down. The engineer decides.",
}

_OF_GRADE = {Grade.HOLD: Verdict.HOLD, Grade.CARE: Verdict.CARE}


def verdict_of(concerns: Iterable[Concern]) -> Verdict:
    """Hold if any concern is a hold, else care if any is care, else clear: notes hold nobody up."""
    gravest = worst(concerns)
    return _OF_GRADE.get(gravest, Verdict.CLEAR) if gravest is not None else Verdict.CLEAR
