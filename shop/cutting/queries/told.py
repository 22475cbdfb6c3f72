"""What is told of a fitted stylus before the head goes down: where a side is started, where it runs, on the page of a
day, on the cut sheet and in the list of styli, each time in the same sentence."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from shop import clock
from shop.concern import Grade
from shop.cutting.models import BookingSide, Fitting, Life
from shop.cutting.queries.advice import Advice, Against, Matter, advice, change_costs_of, replacement
from shop.cutting.queries.overruled import Covered, Word
from shop.cutting.queries.styli import (
    AGE_NOT_KNOWN,
    EdgeDoubt,
    Outlook,
    doubts_in_heads,
    fitted_lives,
    limits,
    outlooks,
    overruled_today,
)
from shop.cutting.wording import chance_words


@dataclass(frozen=True)
class Told:
    """A stylus in a head, held against some sides that it would cut one after the other.

    chance: that it finishes them, counted by their music as everywhere; None for no sides, as for a test cut.
    """

    fitting: Fitting
    outlook: Outlook
    sides: tuple[BookingSide, ...]
    advice: Advice
    covered: Covered

    @property
    def chance(self) -> float | None:
        return self.outlook.chance(sum(side.play_s for side in self.sides)) if self.sides else None

    @cached_property
    def against(self) -> list[Against]:
        """What speaks against these sides and was not overruled as it now stands, the gravest first."""
        there = [one for one in self.advice.against if self.word_on(one) is None]
        return sorted(there, key=lambda one: -one.grade)

    @property
    def grade(self) -> Grade | None:
        """How much it weighs; None where nothing speaks against it, or all that does was overruled."""
        return self.against[0].grade if self.against else None

    def word_on(self, one: Against) -> Word | None:
        return self.covered.word_on(one.matter, one.grade)

    @cached_property
    def sentence(self) -> str:
        """What to do, why, the chance, and what of it was overruled."""
        what = "this side" if len(self.sides) == 1 else f"all {len(self.sides)} sides"
        chance = None if self.chance is None else chance_words(self.chance)
        if not self.advice.is_against:
            if chance is None:
                return f"Nothing is known against it. {self.advice.reasons[0]}"
            if not self.outlook.age_is_known:
                return f"{AGE_NOT_KNOWN} {self._if_fresh(what)}"
            return f"It is likely to finish {what}: {chance}."
        said = [self.advice.sentence, *self.advice.reasons]
        # Where the chance of one side is the reason it is told already.
        if chance is not None and not (len(self.sides) == 1 and self._is_about(Matter.LIFE)):
            whole = ", if its edge is whole" if self._is_about(Matter.EDGE) else ""
            known = f"The chance that it finishes {what} is {chance}{whole}."
            said.append(known if self.outlook.age_is_known else self._if_fresh(what))
        words = dict.fromkeys(word for one in self.advice.against if (word := self.word_on(one)))
        said += [
            f"{word.by} overruled {'part of that' if self.against else 'that'} today: {word.why}" for word in words
        ]
        return " ".join(said)

    def _if_fresh(self, what: str) -> str:
        return self.outlook.if_fresh(what, sum(side.play_s for side in self.sides))

    def _is_about(self, matter: Matter) -> bool:
        return any(one.matter == matter for one in self.advice.against)


def told_of_heads(sides: Iterable[BookingSide] = ()) -> list[Told]:
    """What to say of each stylus in the head of a lathe in use, as if it had to cut these sides: three queries."""
    fitted = [fitting for fitting in fitted_lives() if fitting.lathe.is_active]
    wanted, today, shop = tuple(sides), clock.today(), limits()
    found, overruled = outlooks([fitting.life for fitting in fitted]), overruled_today()
    costs = change_costs_of(fitting.life.stylus.kind_id for fitting in fitted)
    doubts = {doubt.life.pk: Grade.HOLD if doubt.chipped else Grade.CARE for doubt in doubts_in_heads()}
    told = []
    for fitting in fitted:
        outlook = found[fitting.life_id]
        change = replacement(outlook.posterior, costs[fitting.life.stylus.kind_id])
        doubt = doubts.get(fitting.life_id)
        said = advice(fitting.life, outlook, wanted, shop, today=today, change=change, doubt=doubt)
        told.append(Told(fitting, outlook, wanted, said, overruled.get(fitting.life_id, Covered())))
    return told


def bases(outlooks: Iterable[Outlook]) -> list[str]:
    """What is told of these styli rests on: a sentence or two for each kind, named where there are several."""
    by_kind = {outlook.kind.pk: outlook for outlook in outlooks}
    if len(by_kind) < 2:
        return [outlook.posterior.rests_on for outlook in by_kind.values()]
    told = {outlook.kind: outlook.posterior.rests_on for outlook in by_kind.values()}
    return [f"{kind}: {words[0].lower()}{words[1:]}" for kind, words in told.items()]


def edge_words(fitted: Iterable[Fitting]) -> dict[int, str]:
    """What speaks against each of these fitted edges whatever is to be cut with it, in a few words, by its life; one
    that nothing speaks against, or of which all that does was overruled today, is left out. No query beside `heads`,
    however many they are."""
    doubts, overruled = {doubt.life.pk: doubt for doubt in doubts_in_heads()}, overruled_today()
    found = {}
    for fitting in fitted:
        life_id = fitting.life_id
        if said := _edge_words(fitting.life, doubts.get(life_id), overruled.get(life_id, Covered())):
            found[life_id] = said
    return found


def _edge_words(life: Life, doubt: EdgeDoubt | None, covered: Covered) -> str:
    if doubt is not None:
        return "its edge may be chipped" if doubt.chipped else "its edge is in doubt"
    if life.noise_over and covered.word_on(Matter.NOISE, Grade.CARE) is None:
        return "noisier than the shop's limit"
    if life.noise_jumped and covered.word_on(Matter.JUMP, Grade.CARE) is None:
        return "grew noisier all at once"
    return ""
