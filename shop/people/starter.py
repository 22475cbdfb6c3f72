"""What a new room begins with: the starter content in fixtures/, a file or several for each app that has some."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core import serializers
from django.core.management.color import no_style
from django.core.serializers.base import DeserializedObject
from django.db import connection, transaction
from django.db.models import Model

#: In this order, so that what is named by another comes before it. Beside starter_<app>.json an app may have files by
#: topic, starter_<app>_<topic>.json; they number what they name in each other, for their order is that of the alphabet.
APPS = ("stock", "duties", "cutting", "room", "safety", "training", "morning")

#: What apps do once starter content was added: what it needs besides, such as a first day.
_after: dict[str, Callable[[], object]] = {}


def register_after(app: str, begin: Callable[[], object]) -> None:
    """Let `begin()` be called whenever starter content was added. Registering an app again replaces it."""
    _after[app] = begin


def load_starter() -> int:
    """Add the starter records that are not there yet; give how many that were. What people changed stays changed."""
    made = 0
    there: dict[type[Model], set[Any]] = {}
    models: set[type[Model]] = set()
    with transaction.atomic():
        for record in _records():
            model = type(record.object)
            if model not in there:
                there[model] = set(model._default_manager.values_list("pk", flat=True))
            if record.object.pk in there[model]:
                continue
            record.save(force_insert=True)
            models.add(model)
            made += 1
        _go_on_counting(models)
        if made:
            for begin in _after.values():
                begin()
    return made


def _records() -> Iterator[DeserializedObject]:
    folder = Path(settings.BASE_DIR) / "fixtures"
    for app in APPS:
        for file in sorted([*folder.glob(f"starter_{app}.json"), *folder.glob(f"starter_{app}_*.json")]):
            yield from serializers.deserialize("json", file.read_text(encoding="utf-8"))


def _go_on_counting(models: set[type[Model]]) -> None:
    """The files give their records numbers; PostgreSQL has to be told to count on from there."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
            cursor.execute(statement)
