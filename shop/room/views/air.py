"""The page of the room's air and the blank store's."""

from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop import clock
from shop.people.models import Units
from shop.people.requests import PersonRequest
from shop.press.pages import may
from shop.room import actions, queries
from shop.room.air_now import no_dew_point
from shop.room.course import summary
from shop.room.kinds import KINDS
from shop.room.models import ReadingKind
from shop.room.pictures import limit_lines, reading_picture
from shop.room.queries import climate
from shop.room.queries.climate import Course, OutsideTime
from shop.room.wording import limit_words, readings_words, said, span_words

#: The stretches that are told, in days.
SPANS = (30, 90, 365)


@require_safe
def air(request: PersonRequest) -> HttpResponse:
    """Both places: the air as last read, its course, how long it lay outside the bands, which lots were there then."""
    asked = request.GET.get("days", "")
    days = int(asked) if asked in map(str, SPANS) else SPANS[0]
    until = clock.now()
    kinds = tuple(kind for place in climate.PLACES for kind in (place.celsius, place.humidity))
    found = climate.courses(kinds, until - timedelta(days=days), until)
    latest = queries.latest_all(kinds=kinds)
    in_store = [time for kind in (climate.STORE.celsius, climate.STORE.humidity) for time in found[kind].times]
    in_store = sorted(in_store, key=lambda time: time.start, reverse=True)
    there = climate.lots_then(in_store[: climate.MOST_SPELLS])
    places = [
        {
            "place": place,
            "air": queries.air_state(latest, celsius=place.celsius, humidity=place.humidity),
            "no_dew_point": no_dew_point(latest[place.celsius], latest[place.humidity], request.user)
            if place.celsius in latest and place.humidity in latest
            else "A dew point needs both temperature and humidity.",
            "latest": [latest[kind] for kind in (place.celsius, place.humidity) if kind in latest],
            "courses": [_course(found[kind], days, until, request.user) for kind in (place.celsius, place.humidity)],
            "times": [
                _time(time, request.user)
                for time in sorted(
                    (*found[place.celsius].times, *found[place.humidity].times),
                    key=lambda time: time.start,
                    reverse=True,
                )[: climate.MOST_SPELLS]
            ]
            if place is climate.ROOM
            else [_time(time, request.user, lots) for time, lots in zip(in_store, there, strict=False)],
            "many": len(found[place.celsius].times) + len(found[place.humidity].times),
        }
        for place in climate.PLACES
    ]
    context = {
        "places": places,
        "days": days,
        "spans": SPANS,
        "most": climate.MOST_SPELLS,
        "gap": int(climate.LONGEST_GAP.total_seconds() // 3600),
        "may_take": may(request.user, actions.take_readings),
        "may_set": may(request.user, actions.change_limit),
    }
    return render(request, "room/air.html", context)


def _course(course: Course, days: int, until: Any, reader: Units) -> dict[str, Any]:
    about = KINDS[course.kind]
    points = list(course.points)
    told = summary(points, days)
    return {
        "about": about,
        "limits": limit_words(about, course.limit, reader),
        "picture": reading_picture(about, points, limit_lines(course.limit), reader, days=days, until=until)
        if points
        else "",
        "words": told.words(lambda value: said(about.quantity, value, reader)) if told else "",
        "outside": course.outside,
        "outside_words": _outside_words(course),
    }


def _outside_words(course: Course) -> str:
    """How long it lay outside the band, in words; "" without a band or readings."""
    told = course.outside
    if told is None:
        return ""
    known = f"of {span_words(told.known_h)} that are known"
    parts = [
        f"{span_words(hours)} {side}" for hours, side in ((told.below_h, "below"), (told.above_h, "above")) if hours
    ]
    if parts:
        return f"Outside the band: {' and '.join(parts)}, {known}."
    if course.times:  # readings by themselves, too far from the others to say for how long
        return f"{readings_words(len(course.times))} outside the band, for how long is not known."
    return f"Inside the band for all {known}." if told.known_h else "Inside the band when it was read."


def _time(time: OutsideTime, reader: Units, lots: list[climate.LotThen] | None = None) -> dict[str, Any]:
    about = KINDS[ReadingKind(time.kind)]
    return {
        "time": time,
        "about": about,
        "worst": said(about.quantity, time.worst, reader),
        "span": span_words(time.hours) if time.hours else "one reading",
        "lots": lots,
    }
