"""Reading sides that are being cut, and how the advice on their stylus changes while they run."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from shop.calc.layout import Kind, Layout
from shop.cutting import plans
from shop.cutting.models import BookingSide, RunningSide
from shop.cutting.queries.bookings import uncut
from shop.cutting.queries.styli import AGE_NOT_KNOWN, Outlook, life_outlook
from shop.cutting.queries.told import Told, bases, told_of_heads
from shop.cutting.wording import chance_words


@dataclass(frozen=True)
class Mark:
    """Something that happens at a time after the start. at: when, by the plan."""

    seconds: float
    words: str
    at: datetime


@dataclass(frozen=True)
class RunPlan:
    """How a started side is to go on: its titles, when it ends, what room there is, what its stylus is good for.

    laid: None for a cut without a booking. room_s: seconds after the start at which the last groove that is allowed is
    reached, None where nothing is planned. basis: what the advice rests on.
    """

    laid: Layout | None
    ends_s: float | None
    room_s: float | None
    titles: list[Mark]
    advice: list[Mark]
    basis: list[str]


def run_plan(
    run: RunningSide, outlook: Outlook, *, care_below: float, later_s: float, told: Told | None = None
) -> RunPlan:
    """later_s: seconds of cutting that today's other sides still want from this stylus. told: what was said of it
    before the head went down."""
    laid = _layout(run)
    music = [one for one in laid.stretches if one.kind == Kind.MUSIC] if laid else []
    named = run.wanted.titles if run.wanted is not None and len(run.wanted.titles) > 1 else []
    titles = [
        Mark(
            one.begins_s,
            f"{place} {named[place - 1]['name']}".strip(),
            run.started_at + timedelta(seconds=one.begins_s),
        )
        for place, one in enumerate(music, start=1)
        if named
    ]
    ends_s = laid.seconds if laid else None
    spare_s = laid.plan.longest_minutes * 60 - (run.play_s or 0) if laid else 0.0
    return RunPlan(
        laid=laid,
        ends_s=ends_s,
        room_s=(music[-1].begins_s + music[-1].seconds + spare_s) if music else None,
        titles=titles,
        advice=_advice(run, outlook, care_below=care_below, later_s=later_s, told=told),
        basis=bases([outlook]),
    )


def plan_of_run(run: RunningSide, today: date, care_below: float) -> RunPlan:
    """The same, with what is to be cut today besides, and what is said of its stylus; five queries."""
    others = [side for side in uncut(today) if side.pk != run.wanted_id]
    told = told_of_heads([run.wanted] if run.wanted is not None else [])
    return run_plan(
        run,
        life_outlook(run.life),
        care_below=care_below,
        later_s=sum(side.play_s for side in others),
        told=next((one for one in told if one.fitting.life_id == run.life_id), None),
    )


def _layout(run: RunningSide) -> Layout | None:
    wanted: BookingSide | None = run.wanted
    if wanted is None:
        return None
    titles, pauses = plans.times_of(wanted.titles, wanted.play_s)
    return plans.lay_out(
        titles_s=titles,
        pauses_s=pauses,
        disc_in=run.disc_in,
        speed=run.speed,
        width_um=run.width_um,
        land_um=wanted.land_um,
        pitch_um=run.pitch_um,
        kept=plans.figures(),
    )


def _advice(run: RunningSide, outlook: Outlook, *, care_below: float, later_s: float, told: Told | None) -> list[Mark]:
    """What is to be said of the stylus at the start, and from each minute on at which something else is.

    A side is counted by its music, as wherever its chance is told.
    """
    stylus, found, play_s = run.life.stylus, [], float(run.play_s or 0)
    last = ""
    for minute in range(int(play_s // 60) + 1):
        cut_s = 60.0 * minute
        words, state = _said(
            str(stylus),
            outlook,
            outlook.hours + cut_s / 3600,
            max(0.0, play_s - cut_s),
            care_below=care_below,
            later_s=later_s,
        )
        if minute == 0 and told is not None and (told.advice.is_against or not told.sides):
            words = f"{stylus}: {told.sentence}"
        if state != last:
            found.append(Mark(cut_s, words, run.started_at + timedelta(seconds=cut_s)))
            last = state
    return found


def _said(
    stylus: str, outlook: Outlook, hours: float, left_s: float, *, care_below: float, later_s: float
) -> tuple[str, str]:
    """The advice after `hours` of cutting, and a word for what kind it is of."""
    this = outlook.posterior.chance_of_finishing(hours, left_s / 3600)
    day = outlook.posterior.chance_of_finishing(hours, (left_s + later_s) / 3600)
    past = hours > outlook.kind.expected_h
    most = outlook.at_most
    if this < care_below:
        words, state = (
            f"{stylus} finishes this side with a chance of {most}{chance_words(this)}: look at the tip after it.",
            "side",
        )
    elif not outlook.age_is_known:
        words, state = f"{stylus}: {AGE_NOT_KNOWN} Listen to it.", "unknown"
    elif later_s and day < care_below:
        words = (
            f"{stylus} is likely to finish this side ({chance_words(this)}), but hardly all that is to be cut today "
            f"({chance_words(day)}): look at the tip before the next one."
        )
        state = "day"
    elif later_s:
        words, state = f"{stylus} is likely to finish all that is to be cut today: {chance_words(day)}.", "well"
    else:
        words, state = f"{stylus} is likely to finish this side: {chance_words(this)}.", "well"
    if past:
        words += f" It is past the {outlook.kind.expected_h:g} h that are expected of it."
    return words, f"{state}{past}"
