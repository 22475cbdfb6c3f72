"""What worries safety about places: things that stand together, and flammable liquid against the shop's own limit."""

import json
from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from django.db.models import F, QuerySet, Value
from django.db.models.functions import JSONObject

from shop.calc import flammables
from shop.concern import Concern, Grade
from shop.people.fields import measured
from shop.people.models import Room
from shop.people.queries import the_room
from shop.safety import queries
from shop.safety.layout import Layout, Together
from shop.safety.models import FindingAnswer, Hazard, Kept, Place, Substance
from shop.topic import Row, Topic, day_it_is
from shop.wording import in_full, per_cent

_SUBJECT = "Where things are kept"
_GOVERNS = "The local fire code governs, whatever stands here."


def _rows() -> Iterator[QuerySet[Any]]:
    """Places, what is kept in them with its classification, and the answers in force."""
    places = ("pk", "name", "within_id", "closed", "has_heat", "has_spark", "limit_ml", "limit_by", "limit_on")
    yield queries.places().annotate(told=JSONObject(of=Value("place"), **{name: F(name) for name in places}))
    yield queries.kept().annotate(
        told=JSONObject(
            of=Value("kept"),
            **{
                name: F(name) for name in ("pk", "place_id", "substance_id", "amount", "empties", "open_ml", "stock_ml")
            },
            name=F("substance__name"),
            form=F("substance__form"),
            groups=F("substance__groups"),
        )
    )
    yield queries.codes().annotate(
        told=JSONObject(of=Value("code"), substance_id=F("substance_id"), h_code=F("h_code"))
    )
    yield queries.answers(day_it_is()).annotate(told=JSONObject(of=Value("answer"), pk=F("pk"), key=F("key")))


def _laid_out(rows: list[Row]) -> Layout:
    """What those rows say, as rows of their own tables."""
    told: dict[str, list[Row]] = {"place": [], "kept": [], "code": [], "answer": []}
    for row in rows:
        told[row["of"]].append({name: value for name, value in row.items() if name != "of"})
    places = [
        Place(
            **row
            | {name: bool(row[name]) for name in ("closed", "has_heat", "has_spark")}
            | {"limit_on": date.fromisoformat(row["limit_on"]) if row["limit_on"] else None}
        )
        for row in told["place"]
    ]
    kept = [_kept(row) for row in sorted(told["kept"], key=lambda one: (one["name"], bool(one["empties"])))]
    codes = [Hazard(**row) for row in told["code"]]
    answers = {row["key"]: FindingAnswer(**row) for row in told["answer"]}
    return Layout(places, queries.held_of(kept, codes), answers)


def _kept(row: Row) -> Kept:
    groups = row["groups"]  # SQLite tells JSON within JSON as text
    substance = Substance(
        pk=row["substance_id"],
        name=row["name"],
        form=row["form"],
        groups=json.loads(groups) if isinstance(groups, str) else groups,
    )
    kept = Kept(
        pk=row["pk"],
        place_id=row["place_id"],
        substance=substance,
        amount=row["amount"],
        empties=bool(row["empties"]),
    )
    kept.open_ml, kept.stock_ml = row["open_ml"], row["stock_ml"]  # type: ignore[attr-defined]
    return kept


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    """What stands together and no answer is in force for; limits passed or near; flammables under no limit."""
    layout, room = _laid_out(rows), the_room()
    yield from (_of_two(one) for one in layout.together if one.answer is None)
    for _, place in layout.tree():
        if place.limit_ml is not None and (worry := _of_limit(place, layout, room)):
            yield worry
    yield from (_of_no_limit(place) for place in layout.without_limit())


def _of_two(one: Together) -> Concern:
    return Concern(
        key=f"safety:apart:{one.key}",
        grade=one.grade,
        subject=_SUBJECT,
        headline=one.short,
        reason=f"{one.words}. {one.rule.reason} Source: {one.source}",
        what_to_do="Part them, or say why they stay and until when. The supplier's safety data and the local fire code "
        "decide.",
        link=one.at.get_absolute_url(),
    )


def _of_limit(place: Place, layout: Layout, room: Room) -> Concern | None:
    assert place.limit_ml is not None
    total = layout.total(place)
    share = flammables.share_of_limit(total.ml, place.limit_ml)
    if share < flammables.NEAR:
        return None
    is_over = share > 1
    held, limit = measured("liquid", total.ml, room), measured("liquid", place.limit_ml, room)
    when = f" on {in_full(place.limit_on)}" if place.limit_on else ""
    more = f" {total.unknown} more without an amount written down." if total.unknown else ""
    return Concern(
        key=f"safety:flammables:{place.pk}",
        grade=Grade.CARE if is_over else Grade.NOTE,
        subject=_SUBJECT,
        headline=f"{place.name}: {'more' if is_over else 'nearly as much'} flammable liquid "
        f"{'than' if is_over else 'as'} the limit written down",
        reason=f"{held.text} of flammable liquid in it and within it, {per_cent(share)} of {limit.text}, set by "
        f"{_who(place)}{when}.{more} {_GOVERNS}",
        what_to_do="Take some of it elsewhere, or write down what is really there."
        if is_over
        else "Bring no more of it in before some is used.",
        link=place.get_absolute_url(),
        quantities=(held, limit),
    )


def _who(place: Place) -> str:
    said = place.get_limit_by_display()
    return said[0].lower() + said[1:]


def _of_no_limit(place: Place) -> Concern:
    return Concern(
        key=f"safety:no-limit:{place.pk}",
        grade=Grade.NOTE,
        subject=_SUBJECT,
        headline=f"{place.name}: flammable liquid, and no limit written down",
        reason="Flammable liquid is kept there, and neither for the place nor for one around it is it written down how "
        f"much may be. {_GOVERNS}",
        what_to_do="Ask the fire authority, the insurer or the landlord, and write down what they said.",
        link=place.get_absolute_url(),
    )


TOPIC = Topic(_rows, _worries)
