"""Pages of signing off, and of withdrawing that."""

from uuid import uuid5

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from shop import clock
from shop.people.requests import PersonRequest
from shop.press.pages import press_page, writes
from shop.press.views import refusal_page
from shop.training import actions, queries
from shop.training.actions.acts import runs_until
from shop.training.forms import SignOffForm, WithdrawSignOffForm
from shop.training.models import SIGNED, AuthorityWithdrawn, SignOff, SignOffWithdrawn, Step
from shop.training.wording import NOT_SIGNED
from shop.wording import in_full


@writes(actions.sign_off)
def sign_off(request: PersonRequest, pk: int, step: int) -> HttpResponse:
    """One step of one person, signed by somebody who is there, on whichever device. It is the signer's press."""
    shown = get_object_or_404(queries.enrolments(), pk=pk)
    asked = get_object_or_404(Step.objects.select_related("act", "programme"), pk=step, programme=shown.programme)
    if asked.kind not in SIGNED:
        return refusal_page(request, NOT_SIGNED, 422, headline="Nobody signs this step", again=False)
    course = queries.course_of(shown)
    people = queries.hands()
    signers = queries.to_choose_from(asked, shown.person, people)
    act = queries.may_come_with(asked, course)
    last = runs_until(act, clock.today()) if act is not None else None
    held = queries.held_as_long(act, shown.person, last) if act is not None else None
    if held is not None:  # there is nothing to give
        act = None
    form = SignOffForm(
        request.POST or None,
        person=request.user,
        request=request,
        row=asked,
        signers=signers,
        told=queries.to_be_told(asked, shown.person, people) if request.method == "POST" else [],
        act=act,
        last=last,
    )
    signer = form.who if request.method == "POST" and form.is_bound and form.is_valid() else None
    if request.method == "POST":
        about = {"step": asked, "person": shown.person, "signed_in": request.user, "how": form.how}
        made = form.press(actions.sign_off, by=signer or request.user, **about)
        if made is not None:
            messages.success(request, _said(made, gives="give" in request.POST))
            return redirect(shown)
        once = form.cleaned_data.get("once")
        if once and signer is not None and form.is_proven and queries.why_not_apart(signer, shown.person):
            actions.note_self_signing(by=signer, once=uuid5(once, "self"), step=asked, person=shown.person)
    context = {
        "form": form,
        "enrolment": shown,
        "step": form.row,  # as it is now, where it was changed meanwhile
        "line": course.line_of(asked),
        "signers": signers,
        "held": held,
        "card": reverse("training:card", args=[shown.pk, asked.pk]),
    }
    return render(request, "training/sign_off.html", context, status=form.http_status)


def _said(made: SignOff, *, gives: bool) -> str:
    """What came of it. gives: whether the authority was to come with it, which makes no second beside a longer one."""
    with_it = made.authorities.select_related("act").first()
    alone = f" {made.person.name} may do it alone: {with_it.act.name}." if with_it else ""
    if gives and not with_it:
        holds = next((one for one in queries.held_now([made.person]) if one.act == made.step.act), None)
        until = f" until {in_full(holds.until)}" if holds and holds.until else ""
        alone = f" {made.person.name} may do it alone already{until}: {holds.act.name}." if holds else ""
    return f"{made.step.title}: signed by {made.by.name}.{alone}"


def _counts_no_more(made: SignOffWithdrawn) -> str:
    person = made.sign_off.person
    gone = AuthorityWithdrawn.objects.filter(at=made.at, by=made.by, authority__person=person)
    taken = "".join(f" {person.name} does it alone no more: {one.authority.act.name}." for one in gone)
    return f"It counts no more. What rests on it says so.{taken}"


@writes(actions.withdraw_sign_off)
def withdraw_sign_off(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(SignOff.objects.select_related("step", "person", "by"), pk=pk)
    latest = queries.enrolments().filter(person=shown.person, programme=shown.step.programme_id).first()
    form = WithdrawSignOffForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.withdraw_sign_off,
        said=_counts_no_more,
        to=latest or "training:board",
        more={"enrolment": latest},
        sign_off=shown,
    )
