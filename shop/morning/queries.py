"""Reading checks and the room's own list, shaped for the pages."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, Prefetch, QuerySet
from django.urls import reverse

from shop.concern import Concern, StoredConcern
from shop.cutting.models import Booking, Fitting
from shop.cutting.verdict import Spoken
from shop.morning.models import Answer, Check, PutAway, Question, Verdict
from shop.people.models import Person
from shop.room.models import Cylinder, Reading
from shop.stock.models import ItemKind, Lot


def questions() -> QuerySet[Question]:
    """The room's own list as it is asked."""
    return Question.objects.filter(is_active=True)


def standing_check(day: date) -> Check | None:
    """The check that counts on `day`: the last one signed, for a correction comes after what it corrects."""
    return Check.objects.filter(day=day).select_related("by", "corrects", "overruling").order_by("-id").first()


def spoken_against(day: date) -> Spoken | None:
    """For cutting: the day's verdict as it was signed, if it is one of care or hold."""
    check = standing_check(day)
    if check is None or check.verdict == Verdict.CLEAR:
        return None
    overruled_by = check.overruling.signed_as if check.is_overruled else ""
    return Spoken(check.get_verdict_display(), overruled_by, reverse("morning:today"))


def last_check() -> Check | None:
    """The check that counts of the last day that has one, with what `first_things` asks for."""
    known = Check.objects.annotate(**_ever())
    return known.select_related("by", "corrects", "overruling").order_by("-day", "-id").first()


@dataclass(frozen=True)
class FirstThings:
    """Whether each of what an empty room needs first was ever done, and whether somebody put the list away."""

    was_fitted: bool = False
    was_connected: bool = False
    came_in: bool = False
    was_booked: bool = False
    put_away: bool = False

    @property
    def are_wanted(self) -> bool:
        """Whether the list is still to be shown: what was done once stays done, whatever has become of it since."""
        return not self.put_away and not (self.was_fitted and self.was_connected and self.came_in and self.was_booked)


def _ever() -> dict[str, Exists]:
    return {
        "was_fitted": Exists(Fitting.objects.all()),
        "was_connected": Exists(Cylinder.objects.filter(connected_at__isnull=False)),
        "came_in": Exists(Lot.objects.filter(item__kind=ItemKind.BLANK)),
        "was_booked": Exists(Booking.objects.filter(cancelled_at=None)),
        "put_away": Exists(PutAway.objects.all()),
    }


def first_things(last: Check | None) -> FirstThings:
    """last: what `last_check` found, which tells it; before the first check, one query."""
    row: Any = last or Person.objects.annotate(**_ever()).order_by("pk").first()
    return FirstThings(**{name: getattr(row, name) for name in _ever()}) if row is not None else FirstThings()


def checks() -> QuerySet[Check]:
    """All checks, last first, with what a list of them shows."""
    return Check.objects.select_related("by", "corrects", "corrected_by", "overruling").order_by("-day", "-id")


def check_in_full() -> QuerySet[Check]:
    """Checks with all that their own page and paper show."""
    answers = Answer.objects.select_related("question", "reading__cylinder", "reading__corrected_by")
    return checks().prefetch_related(Prefetch("answers", queryset=answers))


@dataclass(frozen=True)
class PlaceLines:
    """The answers of one place, in the order they were given."""

    place: str
    answers: list[Answer]


def by_place(check: Check) -> list[PlaceLines]:
    """The check's answers, place by place as the room is walked."""
    found: list[PlaceLines] = []
    for answer in check.answers.all():
        if not found or found[-1].place != answer.place:
            found.append(PlaceLines(answer.place, []))
        found[-1].answers.append(answer)
    return found


def given_answers(check: Check) -> dict[int, Answer]:
    """A check's answers by question, each with its reading as it stands today: what a correction starts from."""
    found = {}
    for answer in check.answers.all():
        if answer.reading is not None:
            answer.reading = standing(answer.reading)
        found[answer.question_id] = answer
    return found


def standing(reading: Reading) -> Reading:
    """What a reading says today: itself, or the last of its corrections."""
    while later := Reading.objects.filter(corrects=reading).select_related("cylinder").first():
        reading = later
    return reading


# Since the check ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Since:
    """What changed between a signed check and now. came: new, or graver than it was; went: signed, and gone since."""

    came: list[Concern]
    stayed: list[Concern]
    went: list[StoredConcern]


def since(check: Check, now_found: Sequence[Concern]) -> Since:
    """Hold the concerns found now against those signed with a check."""
    signed: dict[str, StoredConcern] = {stored["key"]: stored for stored in check.concerns}
    here = {one.key for one in now_found}
    came = [one for one in now_found if one.key not in signed or one.grade > signed[one.key]["grade"]]
    new = {one.key for one in came}
    return Since(
        came=came,
        stayed=[one for one in now_found if one.key not in new],
        went=[stored for key, stored in signed.items() if key not in here],
    )
