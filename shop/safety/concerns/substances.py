"""What worries safety about substances: one that is not classed, and one whose supplier's sheet says otherwise."""

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.db.models import Exists, F, OuterRef, QuerySet, Value
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop.concern import Concern, Grade
from shop.safety.labelling import difference_words, worked_out
from shop.safety.models import Hazard, Substance
from shop.safety.queries.supplier_sheets import supplier_sheets_in_force
from shop.topic import Row, Topic

_SUBJECT = "Substances"


def _rows() -> Iterator[QuerySet[Any]]:
    """Those without a class and without a reason; the sheets in force that say something, and the classes beside."""
    classed = Hazard.objects.filter(substance=OuterRef("pk"))
    unclassed = Substance.objects.filter(~Exists(classed), is_active=True, no_class_why="")
    yield unclassed.annotate(told=JSONObject(of=Value("unclassed"), pk=F("pk"), name=F("name"), slug=F("slug")))
    sheets = supplier_sheets_in_force().filter(substance__is_active=True).select_related(None)
    yield sheets.annotate(
        told=JSONObject(
            of=Value("sheet"),
            pk=F("pk"),
            revised_on=F("revised_on"),
            substance=F("substance_id"),
            name=F("substance__name"),
            slug=F("substance__slug"),
            signal=F("says_signal"),
            pictograms=F("says_pictograms"),
            h=F("says_h"),
        )
    )
    has_sheet = supplier_sheets_in_force().filter(substance=OuterRef("substance"))
    yield Hazard.objects.filter(Exists(has_sheet), substance__is_active=True).annotate(
        told=JSONObject(
            of=Value("hazard"),
            substance=F("substance_id"),
            hazard_class=F("hazard_class"),
            category=F("category"),
            h_code=F("h_code"),
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    hazards: dict[int, list[tuple[str, str, str]]] = {}
    counting: dict[int, Row] = {}
    for row in rows:
        if row["of"] == "unclassed":
            yield _unclassed(row)
        elif row["of"] == "hazard":
            line = (row["hazard_class"], row["category"], row["h_code"])
            hazards.setdefault(row["substance"], []).append(line)
        elif row["substance"] not in counting or _age(row) > _age(counting[row["substance"]]):
            counting[row["substance"]] = row
    for pk, sheet in counting.items():
        told = _list(sheet["pictograms"]), [code for code in _list(sheet["h"]) if not code.startswith("EUH")]
        if not (sheet["signal"] or any(told)):
            continue  # nothing of its section 2 was copied
        found = list(difference_words(worked_out(hazards.get(pk, ())), sheet["signal"], *told))
        if found:
            yield _otherwise(sheet, found)


def _age(sheet: Row) -> tuple[str, int]:
    return sheet["revised_on"], sheet["pk"]


def _list(told: Any) -> list[str]:
    """A list kept as JSON: SQLite tells JSON within JSON as text."""
    return list(json.loads(told) if isinstance(told, str) else told or ())


def _unclassed(row: Row) -> Concern:
    return Concern(
        key=f"safety:unclassed:{row['pk']}",
        grade=Grade.NOTE,
        subject=_SUBJECT,
        headline=f"{row['name']} is not classed",
        reason="It has no hazard class here, and nothing says why it is given none.",
        what_to_do="Give the classes that section 2 of its supplier's sheet names, or say why it has none.",
        link=reverse("safety:classify-substance", args=[row["slug"]]),
    )


def _otherwise(sheet: Row, found: list[str]) -> Concern:
    return Concern(
        key=f"safety:otherwise:{sheet['substance']}",
        grade=Grade.NOTE,
        subject=_SUBJECT,
        headline=f"The supplier's sheet on {sheet['name']} says otherwise than what is written down",
        reason=" ".join(found),
        what_to_do="Put its classes right by the sheet: the supplier's stands. Where the sheet seems wrong, ask them.",
        link=reverse("safety:substance", args=[sheet["slug"]]),
    )


TOPIC = Topic(_rows, _worries)
