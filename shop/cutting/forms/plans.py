"""Forms of how the room lays its sides out, and of what it does before the head goes down."""

from typing import Any

from django import forms

from shop.calc.blanks import ENOUGH_SIDES, GUESS, GUESS_WORTH
from shop.cutting.actions import plans as bounds
from shop.cutting.fields import MinutesField
from shop.cutting.forms.lists import PercentField
from shop.cutting.models import HeadStep
from shop.people.fields import QuantityField
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm


def _mm(label: str, of: tuple[float, float], help_text: str) -> QuantityField:
    return QuantityField("length", label=label, low=of[0], high=of[1], help_text=help_text)


class ChangePlanFiguresForm(ChangeForm):
    lead_in_turns = NumberField(
        label="Lead-in",
        low=bounds.LEAD_IN_TURNS[0],
        high=bounds.LEAD_IN_TURNS[1],
        unit="turns",
        help_text="From where the head goes down to the first groove. It lies outside that, as far as the rim lets it.",
    )
    lead_in_pitch_mm = _mm("Pitch of the lead-in", bounds.LEAD_IN_PITCH_MM, "IEC 60098:1987: 1.2 mm, 0.4 either way.")
    band_mm = _mm("Width of a band between titles", bounds.BAND_MM, "Of radius. Common practice, no source.")
    pause_s = NumberField(
        label="Pause between titles",
        low=bounds.PAUSE_S[0],
        high=bounds.PAUSE_S[1],
        unit="s",
        help_text="Where a side's own length does not say.",
    )
    lead_out_pitch_mm = _mm(
        "Pitch of the lead-out", bounds.LEAD_OUT_PITCH_MM, "IEC 60098:1987: 6.4 mm, 3.2 either way, and a turn or more."
    )
    run_out_mm = _mm(
        "More room kept for the run-out",
        bounds.RUN_OUT_MM,
        "Of radius, inside the last groove, besides what the limit of the record leaves. 0 for none.",
    )
    between_s = MinutesField(
        label="From one side's end to the next one's start",
        low_s=bounds.BETWEEN_S[0],
        high_s=bounds.BETWEEN_S[1],
        help_text="Another blank, a look at the groove, the next steps. For the time a day takes.",
    )
    confidence = PercentField(
        low=bounds.CONFIDENCE[0],
        high=bounds.CONFIDENCE[1],
        label="Blanks are to be enough with a confidence of",
        help_text="The higher, the more blanks are asked for rejects.",
    )
    rejects_guess = PercentField(
        low=GUESS[0],
        high=GUESS[1],
        required=False,
        label="Of how many sides do you expect that they are rejected?",
        help_text=(
            f"Your own guess; it counts as {GUESS_WORTH:g} sides, and gives way to the room's own. Empty for none: "
            f"blanks for rejects are then named from {ENOUGH_SIDES} sides on."
        ),
    )


class AddHeadStepForm(PressForm):
    text = forms.CharField(label="What is done", max_length=160)
    place = NumberField(
        label="Place in the order",
        low=bounds.PLACE[0],
        high=bounds.PLACE[1],
        whole=True,
        help_text="Steps are done from the lowest number to the highest.",
    )

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        last = HeadStep.objects.order_by("-place").values_list("place", flat=True).first() or 0
        self.fields["place"].initial = min(last + 10, bounds.PLACE[1])


class ChangeHeadStepForm(ChangeForm):
    text = forms.CharField(label="What is done", max_length=160)
    place = NumberField(label="Place in the order", low=bounds.PLACE[0], high=bounds.PLACE[1], whole=True)
    is_active = forms.BooleanField(label="In the list", required=False)
