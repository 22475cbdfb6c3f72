"""Pages about how one signs in oneself: second factor, personal code, sign-ins."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from shop.codes import draw
from shop.people import actions, queries, second_factor
from shop.people.forms import ConfirmForm, SetPersonalCodeForm, TurnOnSecondFactorForm, WithPasswordForm
from shop.people.models import PersonalCode, SignIn
from shop.people.requests import PersonRequest
from shop.people.secrets import sealed, unsealed
from shop.people.views.again import asks_again, at_the_door
from shop.press.forms import PressForm
from shop.press.pages import press_page, writes
from shop.refusal import Refused


def _sign_ins_page(request: PersonRequest, form: PressForm | None = None) -> HttpResponse:
    context: dict[str, Any] = {
        "open": queries.open_sign_ins(request.user),
        "here": request.session.get("sign_in"),
        "code": PersonalCode.objects.filter(person=request.user).first(),
        "codes_left": second_factor.codes_left(request.user) if request.user.second_factor_at else 0,
        "end": form or ConfirmForm(person=request.user),
    }
    if form:
        context["form"] = form
    return render(request, "people/sign_ins.html", context, status=form.http_status if form else 200)


@require_safe
def sign_ins(request: PersonRequest) -> HttpResponse:
    """How one signs in, and where one is signed in now."""
    return _sign_ins_page(request)


@require_POST
def end_sign_in(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(SignIn, pk=pk)
    form = ConfirmForm(request.POST, person=request.user)
    if form.press(actions.end_sign_in, by=request.user, sign_in=one):
        messages.success(request, f"{one.words} is signed out.")
        return redirect("people:sign-ins")
    return _sign_ins_page(request, form)


@require_POST
def end_other_sign_ins(request: PersonRequest) -> HttpResponse:
    form = ConfirmForm(request.POST, person=request.user)
    here = request.session.session_key or ""
    if form.press(actions.end_other_sign_ins, by=request.user, here_token=here):
        messages.success(request, "You are signed out everywhere but here.")
        return redirect("people:sign-ins")
    return _sign_ins_page(request, form)


# The second factor ----------------------------------------------------------------------------------------------------


def _secret_of(request: PersonRequest) -> str:
    """The secret that this session was shown, kept sealed in it until a code of it comes back; made if none was."""
    kept = request.session.get("second_factor")
    try:
        if kept:
            return unsealed(kept)
    except Refused:
        pass  # the program's key is another one: a fresh secret, then
    secret = second_factor.new_secret()
    request.session["second_factor"] = sealed(secret)
    return secret


@writes(actions.turn_on_second_factor)
@asks_again
@at_the_door
def turn_on_second_factor(request: PersonRequest) -> HttpResponse:
    """Shows the secret as a picture for the app, and takes a code of it; then shows the recovery codes, this once."""
    if request.user.second_factor_at and request.method != "POST":
        return redirect("people:sign-ins")
    secret = _secret_of(request)
    form = TurnOnSecondFactorForm(request.POST or None, person=request.user, secret=secret)
    if request.method == "POST" and form.is_valid():
        shown = [str(code) for code in second_factor.new_recovery_codes()]
        recovery = second_factor.hashed(shown)
        kept = request.session.get("second_factor", "")
        act = actions.turn_on_second_factor
        if form.press(act, by=request.user, sealed_secret=kept, step=form.step, recovery=recovery):
            del request.session["second_factor"]
            return render(request, "people/recovery_codes.html", {"codes": shown, "fresh": True})
    address = second_factor.address_for_app(secret, sign_in=request.user.sign_in, room=request.room.name)
    typed = " ".join(secret[at : at + 4] for at in range(0, len(secret), 4))
    context = {"form": form, "picture": draw(address), "secret": typed}
    return render(request, "people/turn_on_second_factor.html", context, status=form.http_status)


@writes(actions.turn_off_second_factor)
@asks_again
def turn_off_second_factor(request: PersonRequest) -> HttpResponse:
    form = WithPasswordForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.turn_off_second_factor,
        said="The second factor is off. Your password alone lets you in.",
        to="people:sign-ins",
    )


@writes(actions.renew_recovery_codes)
@asks_again
def renew_recovery_codes(request: PersonRequest) -> HttpResponse:
    form = WithPasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        shown = [str(code) for code in second_factor.new_recovery_codes()]
        if form.press(actions.renew_recovery_codes, by=request.user, recovery=second_factor.hashed(shown)):
            return render(request, "people/recovery_codes.html", {"codes": shown})
    return render(request, "people/renew_recovery_codes.html", {"form": form}, status=form.http_status)


@writes(actions.set_personal_code)
@asks_again
def set_personal_code(request: PersonRequest) -> HttpResponse:
    form = SetPersonalCodeForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.set_personal_code,
        said="Your personal code is set. It counts on the room's shared devices.",
        to="people:sign-ins",
    )
