"""Pages about people and their settings."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop.people import actions, doors, queries
from shop.people.forms import (
    AddPersonForm,
    ChangePasswordForm,
    ChangePersonForm,
    SetPasswordForm,
    SettingsForm,
    SettleSameForm,
)
from shop.people.models import Person
from shop.people.requests import PersonRequest
from shop.people.tables import PeopleTable
from shop.people.views.again import asks_again
from shop.press.pages import press_page, writes


@require_safe
def more(request: PersonRequest) -> HttpResponse:
    """What the phone's bar has no room for."""
    return render(request, "people/more.html")


@writes(actions.change_settings)
def settings(request: PersonRequest) -> HttpResponse:
    form = SettingsForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.press(actions.change_settings, by=request.user) is not None:
        messages.success(request, "Your units are saved. Every page speaks them from now on.")
        return redirect("people:settings")
    return render(request, "people/settings.html", {"form": form}, status=form.http_status)


@writes(actions.change_password)
@asks_again
def change_password(request: PersonRequest) -> HttpResponse:
    form = ChangePasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and (
        person := form.press(actions.change_password, by=request.user, here_token=request.session.session_key or "")
    ):
        update_session_auth_hash(request, person)
        doors.note_here(request)
        messages.success(request, "Your password is changed. Where else you were signed in, you are signed out.")
        return redirect("people:settings")
    return render(request, "people/change_password.html", {"form": form}, status=form.http_status)


@require_safe
def people(request: PersonRequest) -> HttpResponse:
    table = PeopleTable(Person.objects.all())
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    invited = queries.open_invitations() if request.user.is_owner else []
    return render(request, "people/people.html", {"table": table, "invited": invited})


@writes(actions.add_person)
def add_person(request: PersonRequest) -> HttpResponse:
    form = AddPersonForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.add_person,
        said=lambda added: f"{added.name} may sign in now, as “{added.sign_in}”.",
        to="people:people",
    )


@writes(actions.change_person)
def change_person(request: PersonRequest, pk: int) -> HttpResponse:
    whom = get_object_or_404(Person, pk=pk)
    form = ChangePersonForm(request.POST or None, person=request.user, row=whom)
    if request.method == "POST" and (changed := form.press(actions.change_person, by=request.user, person=whom)):
        end = "" if changed.is_active else " They are signed out everywhere."
        messages.success(request, f"{changed.name} is saved as {changed.get_role_display().lower()}.{end}")
        return redirect("people:people")
    context: dict[str, Any] = {"form": form, "whom": whom, **queries.account(whom)}
    return render(request, "people/change_person.html", context, status=form.http_status)


@writes(actions.set_password)
def set_password(request: PersonRequest, pk: int) -> HttpResponse:
    whom = get_object_or_404(Person, pk=pk)
    form = SetPasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and (changed := form.press(actions.set_password, by=request.user, person=whom)):
        if changed == request.user:
            messages.success(request, "Your password is changed. Sign in with the new one.")
        else:
            messages.success(request, f"{changed.name} has a new password and is signed out everywhere.")
        return redirect("people:people")
    return render(request, "people/set_password.html", {"form": form, "whom": whom}, status=form.http_status)


@writes(actions.settle_same)
def settle_same(request: PersonRequest, pk: int) -> HttpResponse:
    """Whether this account and another belong to one human."""
    whom = get_object_or_404(Person, pk=pk)
    other = request.GET.get("other", "")
    form = SettleSameForm(
        request.POST or None,
        person=request.user,
        about=whom,
        initial={"other": other} if other.isascii() and other.isdigit() else {},
    )
    return press_page(
        request,
        form,
        actions.settle_same,
        said="Kept. Nobody signs off for themselves, whichever account they use.",
        to="people:people",
        more={"alike": queries.alike_to(whom)},
        person=whom,
    )
