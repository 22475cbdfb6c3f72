"""Going through programmes: who is behind, whose refresher is due, and who was to sign for themselves."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import Any

from dateutil.relativedelta import relativedelta
from django.db.models import (
    Count,
    Exists,
    F,
    IntegerField,
    Max,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
)
from django.db.models.functions import Coalesce, Greatest, JSONObject, Least
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.safety.models import SheetRead
from shop.safety.queries import versions_in_force
from shop.topic import Row, Topic, day_it_is, midnight, moment
from shop.training.models import (
    SIGNED,
    Answer,
    Enrolment,
    Question,
    ReadAgain,
    SelfSigning,
    SignOff,
    StepEdition,
    StepKind,
)
from shop.training.queries import AHEAD
from shop.wording import in_full

#: For so long an attempt is told of.
_LATELY = timedelta(days=31)
#: What is read of each step, as columns of its own: filters on a relation with many rows would join it once more each.
_OF_STEP = ("kind", "title", "sheet", "times", "edition", "day", "refresh_months", "changed_refreshes", "is_active")


def _steps() -> QuerySet[Any]:
    """A row for each step of each programme that somebody is under way in: `asked`, and its columns as `asked_...`."""
    under_way = Enrolment.objects.filter(ended_at__isnull=True, person__is_active=True, programme__is_active=True)
    columns = {f"asked_{name}": F(f"programme__steps__{name}") for name in _OF_STEP}
    rows: QuerySet[Any] = under_way.annotate(asked=F("programme__steps"), **columns)
    return rows.filter(asked_is_active=True)


def _asked() -> QuerySet[Any]:
    """The same, with how often each was signed (`count`) and how often it takes at least (`wanted`): what an earlier
    edition took is enough for who was signed under it."""
    counting = _counting().filter(step=OuterRef("asked"), person=OuterRef("person")).order_by()
    signed = SignOff.objects.filter(
        step=OuterRef("step"), edition=OuterRef("edition"), person=OuterRef(OuterRef("person")), withdrawn__isnull=True
    )
    then = StepEdition.objects.filter(Exists(signed), step=OuterRef("asked")).order_by()
    times = F("asked_times")
    return _steps().annotate(
        count=Coalesce(Subquery(counting.values("step").annotate(n=Count("pk")).values("n")), 0),
        wanted=Least(
            times,
            Coalesce(Subquery(then.values("step").annotate(n=Min("times")).values("n")), times),
            output_field=IntegerField(),
        ),
    )


def _counting() -> QuerySet[SignOff]:
    """Sign-offs that count: neither withdrawn nor by another account of the same person."""
    return _with_humans(SignOff.objects.filter(withdrawn__isnull=True)).exclude(human=F("their_human"))


def _with_humans(rows: QuerySet[Any]) -> QuerySet[Any]:
    """Rows with a signer and a person, each also as the human behind whatever account it was."""
    return rows.annotate(human=Coalesce("by__same_as", "by"), their_human=Coalesce("person__same_as", "person"))


def _read() -> QuerySet[SheetRead]:
    """Readings of the sheet of a step, in any version, by whoever is enrolled."""
    return SheetRead.objects.filter(version__sheet__slug=OuterRef("asked_sheet"), by=OuterRef("person"))


# Behind the plan ------------------------------------------------------------------------------------------------------


def _behind_rows() -> Iterable[QuerySet[Any]]:
    """Steps that have a day and were never done, of everybody who has begun."""
    answered = Answer.objects.filter(question=OuterRef("pk"), person=OuterRef(OuterRef("person")), right=True)
    unanswered = Question.objects.filter(step=OuterRef("asked"), is_active=True).filter(~Exists(answered))
    in_force = versions_in_force(day_it_is()).filter(sheet__slug=OuterRef("asked_sheet"))
    open_still = (
        Q(asked_kind__in=list(SIGNED), count__lt=F("wanted"))
        | Q(Exists(in_force), ~Exists(_read()), asked_kind=StepKind.READ)
        | Q(Exists(unanswered), asked_kind=StepKind.ANSWER)
    )
    yield (
        _asked()
        .filter(starts_on__lt=day_it_is(), asked_day__isnull=False)
        .filter(open_still)
        .values(
            told=JSONObject(
                enrolment=F("pk"),
                person=F("person__name"),
                programme=F("programme__name"),
                first=F("starts_on"),
                day=F("asked_day"),
            )
        )
    )


def _behind_worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    today = clock.day_of(now)
    late: dict[tuple[int, str, str], list[date]] = defaultdict(list)
    for row in rows:
        by = date.fromisoformat(row["first"]) + timedelta(days=row["day"] - 1)
        if by < today:
            late[row["enrolment"], row["person"], row["programme"]].append(by)
    for (enrolment, person, programme), days in sorted(late.items()):
        several = "1 step" if len(days) == 1 else f"{len(days)} steps"
        yield Concern(
            key=f"training:behind:{enrolment}",
            grade=Grade.NOTE,
            subject="Learning",
            headline=f"{person}: {several} behind the plan",
            reason=f"{programme}: {several} not done by their day, the first of them {in_full(min(days))}.",
            what_to_do="Take the time for the next one, or move the first day: the plan is the shop's own.",
            link=reverse("training:enrolment", args=[enrolment]),
        )


BEHIND = Topic(_behind_rows, _behind_worries)


# Refreshers -----------------------------------------------------------------------------------------------------------


def _refresher_rows() -> Iterable[QuerySet[Any]]:
    """Done steps, signed or read, that come round again some day or were changed in substance since."""
    about = {
        "enrolment": F("pk"),
        "person": F("person__name"),
        "step": F("asked_title"),
        "months": F("asked_refresh_months"),
    }
    counting = _counting().filter(step=OuterRef("asked"), person=OuterRef("person")).order_by().values("step")
    changed = Q(asked_changed_refreshes=True, latest_edition__lt=F("asked_edition"))
    signed = (
        _asked()
        .filter(asked_kind__in=list(SIGNED), count__gte=F("wanted"))
        .annotate(
            last_on=Subquery(counting.annotate(n=Max("on")).values("n")),
            latest_edition=Subquery(counting.annotate(n=Max("edition")).values("n")),
        )
        .filter(changed | Q(asked_refresh_months__isnull=False))
        .values(
            told=JSONObject(
                **about,
                last=F("last_on"),
                behind=F("asked_edition") - F("latest_edition"),
                asks=F("asked_changed_refreshes"),
            )
        )
    )
    again = ReadAgain.objects.filter(step=OuterRef("asked"), person=OuterRef("person")).order_by()
    first = _read().order_by().values("by").annotate(n=Max("at")).values("n")
    once_more = again.values("person").annotate(n=Max("at")).values("n")
    read = (
        _steps()
        .filter(asked_kind=StepKind.READ, asked_refresh_months__isnull=False)
        .annotate(first_at=Subquery(first))
        .filter(first_at__isnull=False)
        .annotate(last_at=Greatest("first_at", Coalesce(Subquery(once_more), "first_at")))
        .values(told=JSONObject(**about, last=F("last_at"), behind=Value(0), asks=Value(False)))
    )
    return signed, read


def _refresher_worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    today = clock.day_of(now)
    due: dict[tuple[int, str], list[tuple[date, str]]] = defaultdict(list)
    for row in rows:
        told = row["last"]
        last = date.fromisoformat(told) if len(told) == len("2025-03-03") else clock.day_of(moment(told))
        if row["asks"] and row["behind"] > 0:
            due[row["enrolment"], row["person"]].append((today, f"{row['step']} (it was changed)"))
        elif row["months"] and (again := last + relativedelta(months=row["months"])) <= today + AHEAD:
            due[row["enrolment"], row["person"]].append((again, f"{row['step']} ({in_full(again)})"))
    for (enrolment, person), steps in sorted(due.items()):
        over = sum(day <= today for day, _ in steps)
        count = over or len(steps)
        several = "1 step" if count == 1 else f"{count} steps"
        yield Concern(
            key=f"training:refresher:{enrolment}",
            grade=Grade.NOTE,
            subject="Learning",
            headline=f"{person}: {several} to be done again{'' if over else ' soon'}",
            reason=f"{'; '.join(said for _, said in sorted(steps)[:4])}{'; and others' if len(steps) > 4 else ''}.",
            what_to_do="Have it shown or read once more. What asks again gives no authority.",
            link=reverse("training:enrolment", args=[enrolment]),
        )


REFRESHERS = Topic(_refresher_rows, _refresher_worries)


# Signing for oneself --------------------------------------------------------------------------------------------------


def _self_rows() -> Iterable[QuerySet[Any]]:
    """Sign-offs by another account of the same person that still stand, and attempts of the last month."""
    about = {"number": F("pk"), "person": F("person__name"), "by": F("by__name"), "step": F("step__title")}
    standing = _with_humans(SignOff.objects.filter(withdrawn__isnull=True)).filter(human=F("their_human"))
    yield standing.values(told=JSONObject(**about, pk=F("person"), kept=Value(1)))
    tried = SelfSigning.objects.filter(at__gte=midnight(days=-_LATELY.days))
    yield tried.values(told=JSONObject(**about, pk=F("person"), kept=Value(0)))


def _self_worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    found: dict[tuple[int, int], list[Row]] = defaultdict(list)
    for row in rows:
        found[row["kept"], row["pk"]].append(row)
    for (kept, pk), told in sorted(found.items()):
        one = min(told, key=lambda row: row["number"])
        more = f", and {len(told) - 1} more" if len(told) > 1 else ""
        if kept:
            yield Concern(
                key=f"training:same-person:{pk}",
                grade=Grade.NOTE,
                subject="Sign-offs",
                headline=f"{one['person']} was signed off by an account of the same person",
                reason=f"“{one['step']}”, signed by {one['by']}{more}. It does not count.",
                what_to_do="Have somebody else look, and withdraw it with the reason.",
                link=reverse("training:withdraw-sign-off", args=[one["number"]]),
            )
        else:
            yield Concern(
                key=f"training:self-signing:{pk}",
                grade=Grade.NOTE,
                subject="Sign-offs",
                headline=f"{one['by']} was to sign for {one['person']}, who is or looks like the same person",
                reason=f"“{one['step']}”{more}. It was refused.",
                what_to_do="Look at the two accounts with them. The line goes after a month; the record keeps it.",
                link=reverse("people:change-person", args=[pk]),
            )


SELF_SIGNED = Topic(_self_rows, _self_worries)
