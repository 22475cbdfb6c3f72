"""Where a list is fetched as a file."""

from typing import Any

from django.http import FileResponse, Http404, HttpRequest, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe

from shop import clock
from shop.carrying import lists, writing
from shop.refusal import NOT_SHOWN, NotAllowed, Refused
from shop.wording import grouped

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV = "text/csv; charset=utf-8"


@require_safe
def export_list(request: HttpRequest, name: str, ending: str) -> HttpResponseBase:
    """A list as a file, narrowed as its page is."""
    chosen = lists.find(name)
    if chosen is None or ending not in ("csv", "xlsx"):
        raise Http404
    role = getattr(request.user, "role", "")
    if not chosen.is_for(role):
        raise NotAllowed(NOT_SHOWN)
    called = f"{name}-{clock.today().isoformat()}.{ending}"
    headings, batches = chosen.headings_for(role), chosen.batches(request.GET, role)
    if ending == "csv":
        parts = writing.csv_parts(headings, batches, timezone.get_current_timezone())
        return named(StreamingHttpResponse(parts, content_type=CSV), called)
    if chosen.is_long(request.GET):
        raise Refused(
            f"That list has more than {grouped(lists.MOST_IN_WORKBOOK)} rows, too many for an XLSX file. Take it as "
            "CSV, or narrow it."
        )
    return named(FileResponse(writing.workbook(chosen.title, headings, batches), content_type=XLSX), called)


def named(answer: Any, name: str) -> Any:
    """The answer as a file to keep, under that name."""
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
