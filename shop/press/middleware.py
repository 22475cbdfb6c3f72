"""Turns a refusal that no form caught into a page with one sentence and a way on."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from shop.press.views import refusal_page
from shop.refusal import Refused


class RefusalMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405 and not response.content:
            # met by who was asked to sign in on pressing, and is led back to where only a press makes sense
            page = refusal_page(request, "Nothing was saved. Go back to the page you pressed on, and press again.", 405)
            page["Allow"] = response["Allow"]
            return page
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if isinstance(exception, Refused):
            return refusal_page(request, exception.sentence, exception.status)
        return None
