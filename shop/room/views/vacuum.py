"""Pages of the vacuum line."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.calc.vacuum import FEWEST, GOOD
from shop.duties import queries as duties
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.room import actions
from shop.room.air_now import talc_now, why_no_dew_point
from shop.room.forms import ChangeLinePartForm, ChangeLineRulesForm, TakeBaselineForm
from shop.room.kinds import KINDS
from shop.room.models import SUCTION, LinePart, ReadingKind
from shop.room.pictures import drift_picture, drift_words
from shop.room.queries import vacuum as queries


@require_safe
def line(request: PersonRequest) -> HttpResponse:
    """The line's parts, what its suction speaks for, each point's charts, and how long since it was cleaned."""
    cleaned, rules, now = queries.cleaned_at(), queries.line_rules(), clock.now()
    points = queries.point_states(cleaned)
    found = queries.diagnosis(points)
    rows = list(queries.parts())
    talced = rules.talc_duty.last_entry.at if rules.talc_duty and rules.talc_duty.last_entry else None
    charts = [
        {
            "about": KINDS[each.kind],
            "state": each,
            "picture": drift_picture(KINDS[each.kind], each, request.user) if each.charts else "",
            "rows": list(zip((one.at for one in each.taken), each.charts.ewma, strict=True))[::-1][:40]
            if each.charts
            else [],
            "words": drift_words(KINDS[each.kind], each, request.user),
        }
        for each in points
    ]
    context = {
        "found": found,
        "unread": [KINDS[kind] for kind, point in queries.POINTS.items() if found and point in found.unread],
        "parts": queries.part_states(rows, points, found, now),
        "left_out": [row for row in rows if not row.is_active],
        "charts": charts,
        "without": [KINDS[kind] for kind in SUCTION if kind not in {each.kind for each in points}],
        "meter": next((state for state in duties.states() if state.meter.key == queries.LINE), None),
        "ran": queries.ran_since({"cleaned": cleaned, "talced": talced}),
        "rules": rules,
        "talc": talc_now(rules, now),
        "no_dew_point": why_no_dew_point(now, request.user),
        "may": may(request.user, actions.take_readings),
        "may_set": may(request.user, actions.take_baseline),
    }
    return render(request, "room/line.html", context)


@writes(actions.take_baseline)
def take_baseline(request: PersonRequest, kind: ReadingKind) -> HttpResponse:
    about, cleaned = KINDS[kind], queries.cleaned_at()
    form = TakeBaselineForm(
        request.POST or None,
        person=request.user,
        initial={"since": clock.day_of(cleaned)} if cleaned else None,
    )
    return press_page(
        request,
        form,
        actions.take_baseline,
        said=f"The clean line's {about.short} is kept; its charts begin anew.",
        to="room:line",
        more={"about": about, "fewest": FEWEST, "good": GOOD},
        kind=kind,
    )


@writes(actions.change_line_part)
def change_line_part(request: PersonRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(LinePart, pk=pk)
    form = ChangeLinePartForm(request.POST or None, person=request.user, part=part)
    return press_page(request, form, actions.change_line_part, said=f"{part.name} is saved.", to="room:line", part=part)


@writes(actions.change_line_rules)
def change_line_rules(request: PersonRequest) -> HttpResponse:
    form = ChangeLineRulesForm(request.POST or None, person=request.user, row=queries.line_rules())
    return press_page(request, form, actions.change_line_rules, said="The rules for talc are saved.", to="room:line")
