"""Pressing on the pages of stock in tests, and reading what they say."""

from html import unescape
from typing import Any
from uuid import uuid4

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.stock.models import Item


def press(client: Client, page: str, *args: Any, **typed: str) -> HttpResponse:
    """Send the form of the page of that name, with a fresh token unless one is typed."""
    answer: Any = client.post(reverse(f"stock:{page}", args=args), {"once": str(uuid4()), **typed})
    return answer


def words(answer: HttpResponse) -> str:
    """What an answer says, its spaces run together."""
    return " ".join(unescape(answer.content.decode()).split())


def row(place: int, item: Item, quantity: str, unit_cost: str = "") -> dict[str, str]:
    """A row of a draft as typed."""
    return {f"r{place}_item": str(item.pk), f"r{place}_quantity": quantity, f"r{place}_unit_cost": unit_cost}
