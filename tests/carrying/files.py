"""Lists as files, fetched and read."""

import csv
import io
from typing import Any

import openpyxl
from django.test import Client
from django.urls import reverse

from shop import clock


def export(client: Client, name: str, ending: str = "csv", query: str = "") -> bytes:
    answer: Any = client.get(reverse("carrying:export-list", args=[name, ending]) + query)
    assert answer.status_code == 200, name
    assert answer["Content-Disposition"] == f'attachment; filename="{name}-{clock.today()}.{ending}"'
    return b"".join(answer.streaming_content)


def read_csv(content: bytes) -> list[list[str]]:
    assert content.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def read_xlsx(content: bytes) -> list[list[Any]]:
    return [list(row) for row in openpyxl.load_workbook(io.BytesIO(content)).worksheets[0].values]


def lines(client: Client, name: str, query: str = "") -> list[dict[str, str]]:
    """The lines of a list, each by its headings."""
    headings, *rows = read_csv(export(client, name, query=query))
    return [dict(zip(headings, row, strict=True)) for row in rows]
