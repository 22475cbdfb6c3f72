"""Photographs of tips, and an engineer's word against the advice about one."""

from collections.abc import Collection
from datetime import datetime

from django.db.models import Sum

from shop import clock
from shop.cutting import queries
from shop.cutting.actions.styli import locked, not_retired
from shop.cutting.models import Overruling, Side, Stylus, TipPhoto
from shop.duties.photos import KeptPhoto
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.wording import in_full


@action(roles=HANDS)
def add_tip_photo(
    *,
    by: Person,
    stylus: Stylus,
    photo: KeptPhoto | None,
    shows: str = "",
    at: datetime | None = None,
    sure: Collection[str] = (),
) -> TipPhoto:
    """Keep a photograph of a tip with the life that it shows, and the hours that life had cut by then.

    One taken before the stylus was fitted, or fitted anew, belongs to no life yet. Refuses where there is none; asks
    about one from before the stylus came in.
    """
    if photo is None:
        raise Refused("Choose a photograph.", field="photo")
    at = happened_at(at)
    if clock.day_of(at) < stylus.received_on:
        sentence = f"{stylus} only came in on {in_full(stylus.received_on)}. Was that photograph taken before?"
        ask_unless_sure([Doubt(key=f"before-it-came-{at:%Y-%m-%d}:at", field="at", sentence=sentence)], sure)
    life = stylus.lives.filter(began_at__lte=at).order_by("-number").first()
    if (
        life is not None
        and life.ended_at is not None
        and stylus.times_away.filter(came_back="fresh", back_at__gte=life.ended_at, back_at__lte=at).exists()
    ):
        life = None  # the edge was made anew since
    cut = Side.objects.filter(life=life, withdrawal__isnull=True, at__lte=at).aggregate(cut_s=Sum("cut_s"))
    return TipPhoto.objects.create(
        stylus=stylus,
        life=life,
        at=at,
        by=by,
        shows=words(shows, field="shows", longest=300),
        cut_s=cut["cut_s"] or 0,
        name=photo.name,
        width=photo.width,
        height=photo.height,
    )


@action(roles=ENGINEERS)
def overrule_advice(*, by: Person, stylus: Stylus, reason: str) -> Overruling:
    """Say why a stylus goes on today against the advice; the advice is kept as it stands, with the reason.

    It covers what the advice rests on, as grave as it is now: what comes up besides, or gets graver, stands until it is
    overruled itself. Refuses where nothing speaks against it.
    """
    reason = words(reason, field="reason", longest=300, needed=True)
    held = locked(stylus)
    not_retired(held)
    life = held.lives.filter(ended_at__isnull=True).first()
    told = queries.advice_on(held, life) if life is not None else None
    if life is None or told is None or not told.is_against:
        raise Refused("Nothing speaks against going on with it: there is nothing to overrule.")
    before = life.overrulings.filter(day=clock.today()).first()
    covers = queries.Covered.of(before.covers if before else None).with_words(
        [(one.matter, one.grade) for one in told.against], by.name, reason
    )
    stands = " ".join([told.sentence, *told.reasons])
    return Overruling.objects.create(
        life=life,
        at=clock.now(),
        day=clock.today(),
        by=by,
        cut_s=life.cut_s,
        advice=stands if len(stands) <= 500 else f"{stands[:499]}\u2026",
        reason=reason,
        covers=covers,
    )
