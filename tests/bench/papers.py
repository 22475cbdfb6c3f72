"""The paper of a check: beside WeasyPrint's own time for the same HTML, and once it is kept."""

import statistics
import time
from collections.abc import Callable
from typing import Any
from uuid import uuid4

from tests.bench.alone import alone


def measure(rounds: int = 7) -> dict[str, Any]:
    """Needs an empty, migrated database: opens a room in it and signs one check."""
    from django.template.loader import render_to_string

    from shop import clock, paper
    from shop.morning import actions
    from shop.morning.answers import Given
    from shop.morning.models import AnswerKind, Question
    from shop.morning.paper import check_pdf, context
    from shop.morning.queries import check_in_full
    from shop.people.opening import open_room

    owner = open_room(
        name="Bench",
        zone="UTC",
        units="metric",
        owner_name="Bench",
        sign_in="bench",
        password="a quiet bench beside the mill",
    )
    answers = [
        Given(question, yes=True) if question.kind == AnswerKind.YES_NO else Given(question, note="not read")
        for question in Question.objects.filter(is_active=True)
    ]
    check = check_in_full().get(pk=actions.make_check(by=owner, once=uuid4(), answers=answers).pk)
    given = context(check, reader=owner)
    weasyprint, fetcher = paper.load()
    html = render_to_string("print/check.html", {"printed_at": clock.now(), **given})

    def whole() -> bytes:
        return paper.pdf("print/check.html", given, "A4")

    def bare() -> bytes:
        sheet = weasyprint.CSS(string="@page { size: A4 }", url_fetcher=fetcher())
        return bytes(weasyprint.HTML(string=html, url_fetcher=fetcher()).write_pdf(stylesheets=[sheet]))

    whole(), bare()
    pairs = [(_wall(whole), _wall(bare)) for _ in range(rounds)]
    check_pdf(check, reader=owner, page_size="A4")
    stored = statistics.median(_wall(lambda: check_pdf(check, reader=owner, page_size="A4")) for _ in range(rounds))
    return {
        "ms": 1000 * statistics.median(a for a, _ in pairs),
        "ratio": statistics.median(a / b for a, b in pairs),
        "stored_ms": 1000 * stored,
    }


def _wall(call: Callable[[], Any]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began


if __name__ == "__main__":
    alone(measure)
