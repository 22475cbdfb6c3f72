"""Pages of the watch: alerts, how one is told, the feed, and whether all is well."""

from uuid import uuid4

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from shop import clock
from shop.codes import shown_address
from shop.paging import leaf
from shop.people.models import OWNERS, Person
from shop.people.requests import PersonRequest
from shop.people.secrets import digest_of, new_secret
from shop.press.pages import may, press_page, shown_to, writes
from shop.watch import actions, feed, health, queries, rules, words
from shop.watch.forms import (
    ChangeWatchRulesForm,
    ChangeWishesForm,
    CloseFeedForm,
    GiveBackAlertForm,
    RenewFeedForm,
    SetLineForm,
    SettleAlertForm,
    SnoozeAlertForm,
    TakeAlertForm,
)
from shop.watch.line import the_line
from shop.watch.models import Alert, FeedKey
from shop.watch.tables import DeliveryTable, EndedTable

# Alerts ---------------------------------------------------------------------------------------------------------------


@require_safe
def alerts(request: PersonRequest) -> HttpResponse:
    """What stands, and with whom."""
    context = {"standing": queries.standing(request.user, clock.now()), "line": the_line()}
    return render(request, "watch/alerts.html", context)


@require_safe
def ended_alerts(request: PersonRequest) -> HttpResponse:
    page = leaf(queries.ended(), request.GET, by=("opened_at", "id"), size=30)
    return render(request, "watch/ended_alerts.html", {"leaf": page, "table": EndedTable(page.rows)})


@require_safe
def alert(request: PersonRequest, pk: int) -> HttpResponse:
    """One alert: what it is about, what befell it, and what one may do."""
    shown = _alert(pk)
    context = {
        "alert": shown,
        "steps": shown.steps.select_related("by"),
        "deliveries": shown.deliveries.select_related("person").order_by("id"),
        "earlier": queries.earlier(shown),
        "quiet": shown.is_quiet(clock.now()),
        "may_take": may(request.user, actions.take_alert),
        "take": TakeAlertForm(person=request.user),
    }
    return render(request, "watch/alert.html", context)


def _alert(pk: int) -> Alert:
    return get_object_or_404(Alert.objects.select_related("taken_by", "with_person"), pk=pk)


@writes(actions.take_alert)
def take_alert(request: PersonRequest, pk: int) -> HttpResponse:
    form = TakeAlertForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.take_alert, said="You look after it now.", alert=_alert(pk))


@writes(actions.give_back_alert)
def give_back_alert(request: PersonRequest, pk: int) -> HttpResponse:
    form = GiveBackAlertForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.give_back_alert, said="It goes down the line again.", alert=_alert(pk))


@writes(actions.snooze_alert)
def snooze_alert(request: PersonRequest, pk: int) -> HttpResponse:
    form = SnoozeAlertForm(request.POST or None, person=request.user)

    def said(quiet: Alert) -> str:
        assert quiet.snoozed_until is not None
        return f"Quiet until {timezone.localtime(quiet.snoozed_until):%-d %B, %H:%M}. It stays on the pages."

    more = {"longest": rules.the_rules().snooze_hours}
    return press_page(request, form, actions.snooze_alert, said=said, more=more, alert=_alert(pk))


@writes(actions.settle_alert)
def settle_alert(request: PersonRequest, pk: int) -> HttpResponse:
    form = SettleAlertForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.settle_alert, said="Settled, with your word.", alert=_alert(pk))


# How people are told --------------------------------------------------------------------------------------------------


@writes(actions.change_wishes)
def change_wishes(request: PersonRequest) -> HttpResponse:
    form = ChangeWishesForm(request.POST or None, person=request.user)
    more = {"feed": FeedKey.objects.filter(person=request.user).first()}
    return press_page(request, form, actions.change_wishes, said="Kept.", to="watch:change-wishes", more=more)


@writes(actions.change_watch_rules)
def change_watch_rules(request: PersonRequest) -> HttpResponse:
    form = ChangeWatchRulesForm(request.POST or None, person=request.user, row=rules.the_rules())
    return press_page(request, form, actions.change_watch_rules, said="The times are kept.", to="watch:alerts")


@writes(actions.set_line)
def set_line(request: PersonRequest) -> HttpResponse:
    form = SetLineForm(request.POST or None, person=request.user)
    more = {"line": the_line()}
    return press_page(request, form, actions.set_line, said="The line is kept.", to="watch:set-line", more=more)


@shown_to(OWNERS)
def deliveries(request: PersonRequest) -> HttpResponse:
    """The mail that was wished for, and what became of it: for owners."""
    page = leaf(queries.deliveries(), request.GET, by=("made_at", "id"), size=40)
    context = {"leaf": page, "table": DeliveryTable(page.rows), "health": health.look()}
    return render(request, "watch/deliveries.html", context)


@csrf_exempt
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def leave(request: HttpRequest, token: str) -> HttpResponse:
    """Where the link in a mail leads. Looking at it changes nothing; a press stops that kind of mail, signed in or not.

    Mail programs press it by themselves when asked to (RFC 8058), without our token against forged requests: the
    signed one in the address stands for it.
    """
    person_id, kind = words.who_leaves(token) or (0, "")
    person = Person.objects.filter(pk=person_id, is_active=True).first()
    if person is None:
        raise Http404
    left = False
    if request.method == "POST":
        actions.leave_mail(by=person, once=uuid4(), kind=kind)
        left = True
    return render(request, "watch/leave.html", {"whose": person, "kind": kind, "left": left})


# The feed -------------------------------------------------------------------------------------------------------------


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, secret: str) -> HttpResponse:
    """The calendar under somebody's secret address; 404 for any other."""
    if feed.whose(secret) is None:
        raise Http404
    body = feed.body_for_room()
    tag = feed.etag(body)
    if tag in [one.strip().removeprefix("W/") for one in request.headers.get("If-None-Match", "").split(",")]:
        answer: HttpResponse = HttpResponseNotModified()
    else:
        answer = HttpResponse(body, content_type="text/calendar; charset=utf-8")
        answer["Content-Disposition"] = 'inline; filename="room.ics"'
    answer["ETag"] = tag
    answer["Cache-Control"] = "private, no-cache"
    return answer


@writes(actions.renew_feed)
def renew_feed(request: PersonRequest) -> HttpResponse:
    """Makes the address anew and shows it, this once."""
    form = RenewFeedForm(request.POST or None, person=request.user)
    secret = new_secret()
    if request.method == "POST" and (key := form.press(actions.renew_feed, by=request.user, secret=secret)) is not None:
        if key.digest != digest_of(secret):  # pressed again: it is the address of the first press
            messages.info(request, "The address was made already, and shown once. If you do not have it, make it anew.")
            return redirect("watch:change-wishes")
        shown = shown_address(request, reverse("watch:calendar-feed", args=[secret]))
        return render(request, "watch/renew_feed.html", {"address": shown})
    return render(request, "watch/renew_feed.html", {"form": form}, status=form.http_status)


@writes(actions.close_feed)
def close_feed(request: PersonRequest) -> HttpResponse:
    form = CloseFeedForm(request.POST or None, person=request.user)
    if request.method == "POST":
        form.press(actions.close_feed, by=request.user)
        if not form.errors:
            messages.success(request, "The address is closed: calendars that used it get no more.")
            return redirect("watch:change-wishes")
    return render(request, "watch/close_feed.html", {"form": form}, status=form.http_status)


# Whether all is well --------------------------------------------------------------------------------------------------


@login_not_required
@require_safe
def health_json(request: HttpRequest) -> HttpResponse:
    """For a machine that looks after machines: 200 if well, 503 if not. It tells ages and counts, and names nobody."""
    found = health.look()
    return JsonResponse(found.as_json(), status=200 if found.well else 503)


@require_safe
def health_page(request: PersonRequest) -> HttpResponse:
    return render(request, "watch/health.html", {"health": health.look()})
