"""Pages for owners about who comes in and where: invitations, shared devices, a lost second factor."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from shop import clock
from shop.people import actions, devices, mailing, queries
from shop.people.actions.invitations import NotGood, why_not
from shop.people.forms import AcceptInvitationForm, ConfirmForm, InvitePersonForm, NameDeviceForm
from shop.people.models import OWNERS, HowIn, Invitation, Person, SharedDevice, SignIn
from shop.people.requests import PersonRequest
from shop.people.secrets import digest_of, new_secret
from shop.people.views.doors import answer, come_in, door
from shop.press.pages import press_page, shown_to, writes
from shop.press.views import refusal_page
from shop.refusal import Refused


@writes(actions.invite_person)
def invite_person(request: PersonRequest) -> HttpResponse:
    """Makes the link and shows it, this once; and sends it, where a mail address was given."""
    form = InvitePersonForm(request.POST or None, person=request.user)
    secret = new_secret()
    if request.method == "POST" and (invited := form.press(actions.invite_person, by=request.user, secret=secret)):
        if invited.digest != digest_of(secret):  # pressed again: the link of the first press is the good one
            said = f"{invited.name} was invited already, and the link was shown once. If you do not have it, withdraw "
            messages.info(request, f"{said}that invitation and invite them again.")
            return redirect("people:people")
        link = request.build_absolute_uri(reverse("people:invitation", args=[secret]))
        sent = mailing.send_invitation(invited, link, request.room) if invited.email else ""
        return render(request, "people/invite_person.html", {"invited": invited, "link": link, "sent": sent})
    return render(request, "people/invite_person.html", {"form": form}, status=form.http_status)


@writes(actions.withdraw_invitation)
def withdraw_invitation(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Invitation, pk=pk)
    form = ConfirmForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.withdraw_invitation,
        said=f"The invitation of {one.name} is withdrawn.",
        to="people:people",
        invitation=one,
    )


@login_not_required
@door
def invitation(request: HttpRequest, secret: str) -> HttpResponse:
    """Where an invitation leads: one's own sign-in name and password, and in."""
    if request.user.is_authenticated:
        words = f"You are signed in as {request.user}. Sign out first, or open the link on the device it is meant for."
        status = 422 if request.method == "POST" else 200
        return refusal_page(request, words, status, headline="Somebody is signed in here", again=False)
    if (no := why_not(secret)) and request.method != "POST":
        return _not_good(request, no)
    form = AcceptInvitationForm(request.POST if request.method == "POST" else None, request=request)
    if request.method == "POST" and form.is_valid():
        try:
            person = actions.accept_invitation(secret=secret, **form.cleaned_data)
        except NotGood as gone:
            return _not_good(request, gone.sentence)
        except Refused as refused:
            form.refuse(refused)
        else:
            response = come_in(request, person, HowIn.INVITATION, devices.shared(request), reverse("morning:today"))
            messages.success(request, f"Welcome, {person.name}. From now on you sign in as “{person.sign_in}”.")
            return response
    invited = Invitation.objects.filter(digest=digest_of(secret)).first()
    return answer(request, "people/invitation.html", form, invited=invited)


def _not_good(request: HttpRequest, why: str) -> HttpResponse:
    return refusal_page(request, why, NotGood.status, headline="This link lets nobody in", again=False)


@writes(actions.take_off_second_factor)
def take_off_second_factor(request: PersonRequest, pk: int) -> HttpResponse:
    whom = get_object_or_404(Person, pk=pk)
    form = ConfirmForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.take_off_second_factor,
        said=f"The second factor of {whom.name} is off. The password alone lets them in.",
        to="people:people",
        person=whom,
    )


@shown_to(OWNERS)
def shared_devices(request: PersonRequest) -> HttpResponse:
    here = request.session.get("device")
    return render(request, "people/shared_devices.html", {"devices": queries.shared_devices(), "here": here})


@writes(actions.name_device)
def name_device(request: PersonRequest) -> HttpResponse:
    """Pressed on the very device: the browser that is answered is the one that is shared from then on."""
    form = NameDeviceForm(request.POST or None, person=request.user)
    secret = new_secret()
    if request.method == "POST" and (named := form.press(actions.name_device, by=request.user, secret=secret)):
        if named.digest != digest_of(secret):  # pressed again: what the first answer brought along is what is good
            said = f"{named.name} was named already. If this device is not told as shared, end it and name it again."
            messages.info(request, said)
            return redirect("people:shared-devices")
        request.session["device"], request.session["at"] = named.pk, clock.now().timestamp()
        SignIn.objects.filter(pk=request.session.get("sign_in", 0)).update(device=named, words=named.name)
        messages.success(request, f"{named.name} is shared from now on.")
        response = redirect("people:shared-devices")
        devices.share(response, secret)
        return response
    return render(request, "people/name_device.html", {"form": form}, status=form.http_status)


@writes(actions.end_device)
def end_device(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(SharedDevice, pk=pk)
    form = ConfirmForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.end_device,
        said=f"{one.name} is shared no longer.",
        to="people:shared-devices",
        device=one,
    )
