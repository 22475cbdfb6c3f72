"""The page of estimates, and its paper. Nothing is written: what is tried stands in the address."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from shop.paper import pdf_response
from shop.people.requests import PersonRequest
from shop.safety import pictures, queries
from shop.safety import what_if as estimates
from shop.safety.forms import WhatIfForm
from shop.safety.forms.what_if import of_a_cylinder
from shop.safety.wording import poured_words


def _told(form: WhatIfForm, request: PersonRequest) -> dict[str, Any]:
    """What the page and the paper tell of a form that is valid."""
    asked, reader = form.asked, request.user
    found = estimates.estimate(asked, queries.limits_of(asked.solvent))
    return {
        "asked": asked,
        "place": form.cleaned_data["place"],
        "is_air_unknown": form.is_air_unknown,
        "found": found,
        "solvent": dict(form.fields["solvent"].choices)[asked.solvent],  # type: ignore[attr-defined]
        "release_picture": pictures.release_picture(asked, found.release, reader),
        "release_words": pictures.release_words(asked, found.release, reader),
        "leak_picture": pictures.leak_picture(found.leak) if found.leak else None,
        "leak_words": pictures.leak_words(found.leak) if found.leak else "",
        "leak_lasts": pictures.hours_words(found.leak.lasts_h) if found.leak else "",
        "leak_rows": found.leak.course[::6] if found.leak else (),
        "spill_picture": pictures.spill_picture(found.vapour),
        "spill_words": pictures.spill_words(found.vapour),
        "spill_rows": found.vapour.course[::6],
        "wipe": poured_words(asked.wipe_ml, reader),
        "spill": poured_words(asked.spill_ml, reader),
        "tenth": poured_words(found.vapour.tenth_ml, reader),
        "contents_by": estimates.CONTENTS,
        "leak_by": (estimates.SUPPLIED, estimates.EXTRACTED),
        "vapour_by": (estimates.BOX, estimates.SPILT),
    }


@require_safe
def what_if(request: PersonRequest) -> HttpResponse:
    start = of_a_cylinder(request.GET)
    form = WhatIfForm(None if start else request.GET or None, person=request.user, start=start)
    told = _told(form, request) if form.is_bound and form.is_valid() else {}
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "safety/what_if.html", {**told, "form": form}, status=status)


@require_safe
def what_if_pdf(request: PersonRequest) -> HttpResponse:
    """The same on paper; without figures that can be reckoned with, back to the page that says so."""
    form = WhatIfForm(request.GET or None, person=request.user)
    if not form.is_bound or not form.is_valid():
        query = f"?{request.GET.urlencode()}" if request.GET else ""
        return redirect(reverse("safety:what-if") + query)
    return pdf_response(request, "print/what_if.html", _told(form, request), name="what if")
