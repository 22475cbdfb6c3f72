"""The door: signing in, the second step, changing places on a shared device, going out."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.people import devices, doors, queries
from shop.people.brakes import HeldUp
from shop.people.forms import AskAgainForm, SecondStepForm, SignInForm, SwitchPersonForm
from shop.people.forms.doors import DoorForm
from shop.people.models import HowIn, Person, SharedDevice
from shop.people.requests import PersonRequest, onwards, where_next
from shop.people.views.again import at_the_door
from shop.press.views import refusal_page

door = require_http_methods(["GET", "HEAD", "POST"])


def answer(request: HttpRequest, template: str, form: DoorForm, **context: object) -> HttpResponse:
    """The page of a form of the door; where tries are held up it says when the next one is taken (RFC 9110, 10.2.3)."""
    context |= {"form": form, "next": where_next(request)}
    response = render(request, template, context, status=form.http_status)
    if isinstance(form.held, HeldUp):
        response.headers["Retry-After"] = str(-int(-form.held.wait.total_seconds() // 1))
    return response


def come_in(
    request: HttpRequest, person: Person, how: HowIn, device: SharedDevice | None, to: str = ""
) -> HttpResponse:
    """Let them in and lead them on to where they were going."""
    there = to or where_next(request) or resolve_url(settings.LOGIN_REDIRECT_URL)
    doors.let_in(request, person, how, device)
    response = redirect(there)
    if how != HowIn.CODE:
        devices.remember(response, request, person)
    return response


@login_not_required
@door
def sign_in(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated:
        return redirect(where_next(request) or settings.LOGIN_REDIRECT_URL)
    device = devices.shared(request)
    if device and request.method != "POST" and "with" not in request.GET:
        return onwards("people:switch-person", request, where_next(request) or "/")
    form = SignInForm(request.POST if request.method == "POST" else None, request=request)
    if request.method == "POST" and form.is_valid() and form.who:
        if form.who.second_factor_at:
            there = where_next(request)
            doors.go_halfway(request, form.who)
            return onwards("people:second-step", request, there or "/")
        return come_in(request, form.who, HowIn.PASSWORD, device)
    return answer(request, "people/sign_in.html", form, device=device)


@login_not_required
@door
def second_step(request: HttpRequest) -> HttpResponse:
    """The code of somebody whose password was right a moment ago."""
    if request.user.is_authenticated:
        if request.method == "POST":
            return refusal_page(request, "You are signed in already.", 422)
        return redirect(where_next(request) or settings.LOGIN_REDIRECT_URL)
    who = doors.who_is_halfway(request)
    if who is None:
        return onwards("people:sign-in", request, where_next(request) or "/")
    form = SecondStepForm(request.POST if request.method == "POST" else None, request=request, who=who)
    if request.method == "POST" and form.is_valid():
        return come_in(request, who, HowIn.BOTH, devices.shared(request))
    return answer(request, "people/second_step.html", form, who=who)


@login_not_required
@door
def switch_person(request: HttpRequest) -> HttpResponse:
    """On a shared device: the code, and one's name."""
    device = devices.shared(request)
    if device is None:
        if request.method == "POST" and request.user.is_authenticated:
            return refusal_page(request, "This device is not named as shared: sign in with your password.", 422)
        return onwards("people:sign-in", request, where_next(request) or "/")
    form = SwitchPersonForm(
        request.POST if request.method == "POST" else None, request=request, device=f"shared:{device.pk}"
    )
    if request.method == "POST" and form.is_valid():
        who = form.cleaned_data["person"]
        there = where_next(request)
        if request.user.is_authenticated:
            doors.let_out(request)
        return come_in(request, who, HowIn.CODE, device, there)
    return answer(request, "people/switch_person.html", form, device=device, people=queries.with_codes())


@require_POST
@at_the_door
def lock(request: PersonRequest) -> HttpResponse:
    """Leave a shared device to the next person: the page one was on opens again for whoever comes."""
    if "device" not in request.session:
        return refusal_page(request, "This device is not named as shared: sign out instead.", 422)
    there = where_next(request)
    doors.let_out(request)
    return onwards("people:switch-person", request, there or "/")


@require_safe
@at_the_door
def still_here(request: PersonRequest) -> HttpResponse:
    """Asked by a page on a shared device while somebody types on it, so that it does not lock under their hands."""
    return HttpResponse("here", content_type="text/plain")


@door
@at_the_door
def ask_again(request: PersonRequest) -> HttpResponse:
    """The password, before an owner's things, of somebody who came in by a personal code."""
    form = AskAgainForm(request.POST if request.method == "POST" else None, request=request, who=request.user)
    if request.method == "POST" and form.is_valid():
        doors.note_asked(request)
        return redirect(where_next(request) or settings.LOGIN_REDIRECT_URL)
    return answer(request, "people/ask_again.html", form)


class SignOut(LogoutView):
    def post(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if request.user.is_authenticated:
            doors.let_out(request)
        return super().post(request, *args, **kwargs)


#: Also for a stranger: whoever's sign-in has ended meanwhile is signed out already.
sign_out = login_not_required(at_the_door(SignOut.as_view()))
