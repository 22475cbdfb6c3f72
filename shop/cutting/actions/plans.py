"""How the room lays its sides out, and what it does before the head goes down."""

from shop.calc.blanks import GUESS
from shop.cutting import rules
from shop.cutting.models import HeadStep, PlanFigures
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read, words

#: What may be entered, wide enough for any lathe and narrow enough to catch a slip: mm, turns, seconds.
LEAD_IN_TURNS = (0.0, 6.0)
LEAD_IN_PITCH_MM = (0.4, 2.4)
BAND_MM = (0.2, 3.0)
PAUSE_S = (0.0, 20.0)
LEAD_OUT_PITCH_MM = (1.0, 12.0)
RUN_OUT_MM = (0.0, 20.0)
BETWEEN_S = (0, 3 * 3600)
CONFIDENCE = (0.5, 0.999)
PLACE = (1, 9999)


@action(roles=ENGINEERS)
def change_plan_figures(
    *,
    by: Person,
    version: int,
    lead_in_turns: float,
    lead_in_pitch_mm: float,
    band_mm: float,
    pause_s: float,
    lead_out_pitch_mm: float,
    run_out_mm: float,
    between_s: int,
    confidence: float,
    rejects_guess: float | None = None,
) -> PlanFigures:
    """Set how this room lays its sides out; what is planned changes with it at once, what was cut does not."""
    PlanFigures.objects.get_or_create(pk=1)
    held = still_as_read(PlanFigures(pk=1), version)
    held.lead_in_turns = rules.between(lead_in_turns, *LEAD_IN_TURNS, field="lead_in_turns")
    held.lead_in_pitch_mm = rules.between(lead_in_pitch_mm, *LEAD_IN_PITCH_MM, field="lead_in_pitch_mm", unit="mm")
    held.band_mm = rules.between(band_mm, *BAND_MM, field="band_mm", unit="mm")
    held.pause_s = rules.between(pause_s, *PAUSE_S, field="pause_s", unit="s")
    held.lead_out_pitch_mm = rules.between(lead_out_pitch_mm, *LEAD_OUT_PITCH_MM, field="lead_out_pitch_mm", unit="mm")
    held.run_out_mm = rules.between(run_out_mm, *RUN_OUT_MM, field="run_out_mm", unit="mm")
    held.between_s = int(rules.between(between_s, *BETWEEN_S, field="between_s", unit="s"))
    held.confidence = rules.between(confidence, *CONFIDENCE, field="confidence")
    held.rejects_guess = None if rejects_guess is None else rules.between(rejects_guess, *GUESS, field="rejects_guess")
    held.version += 1
    held.save()
    return held


@action(roles=ENGINEERS)
def add_head_step(*, by: Person, text: str, place: int) -> HeadStep:
    """Add a step to the room's own list of what is done before the head goes down. Refuses one that is in it."""
    sentence = "That step is in the list already."
    text = not_taken(HeadStep, _text(text), field="text", sentence=sentence)
    step = HeadStep(text=text, place=_place(place))
    with one_of_its_name(sentence, field="text"):
        step.save()
    return step


@action(roles=ENGINEERS)
def change_head_step(*, by: Person, step: HeadStep, version: int, text: str, place: int, is_active: bool) -> HeadStep:
    """Reword a step, move it, or take it off the list."""
    held = still_as_read(step, version)
    sentence = "Another step says that already."
    held.text = not_taken(HeadStep, _text(text), field="text", sentence=sentence, but=held)
    held.place = _place(place)
    held.is_active = is_active
    held.version += 1
    with one_of_its_name(sentence, field="text"):
        held.save()
    return held


def _text(text: str) -> str:
    return words(text, field="text", longest=160, needed=True)


def _place(place: int) -> int:
    return int(rules.between(place, *PLACE, field="place"))
