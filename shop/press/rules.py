"""What actions of more than one app check before they write. Each gives back the value to use, or raises Refused."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any, TypeVar

from django.db import IntegrityError, models, transaction

from shop import clock
from shop.press.plain import visible
from shop.refusal import Changed, Refused

Edited = TypeVar("Edited", bound=models.Model)

#: Said of a stale save; templates/parts/errors.html shows what is saved under it.
CHANGED = (
    "Somebody changed this while your form was open. What is saved now stands here; what you typed is still in the "
    "form. Press again to save yours over it."
)


def words(text: str, *, field: str, longest: int, needed: bool = False) -> str:
    """`text` on one line, without hidden signs and space around it."""
    line = " ".join(visible(text).split())
    if needed and not line:
        raise Refused("Write something here.", field=field)
    if len(line) > longest:
        raise Refused(f"Keep it to {longest} characters; these are {len(line)}.", field=field)
    return line


def happened_at(at: datetime | None) -> datetime:
    """When it happened: now unless said; not in the future, not before 1970."""
    now = clock.now()
    if at is None:
        return now
    if at > now:
        raise Refused("That is in the future. Give the time it happened, or leave it empty for now.", field="at")
    if at.year < 1970:
        raise Refused("That is before 1970: look at the year again.", field="at")
    return at


def not_after_today(day: date, *, field: str) -> date:
    if day > clock.today():
        raise Refused("That is in the future.", field=field)
    if day.year < 1970:
        raise Refused("That is before 1970: look at the year again.", field=field)
    return day


def still_as_read(row: Edited, version: int) -> Edited:
    """The row, locked until the transaction ends, if nobody changed it since its form was opened at `version`."""
    fresh: Any = type(row)._default_manager.select_for_update(of=("self",)).get(pk=row.pk)
    if fresh.version != version:
        raise Changed(CHANGED)
    return fresh


def not_taken(
    model: type[models.Model], name: str, *, sentence: str, field: str = "name", but: models.Model | None = None
) -> str:
    """The name, unless another row has it in that field, however it is capitalised."""
    others = model._default_manager.filter(**{f"{field}__iexact": name})
    if but is not None:
        others = others.exclude(pk=but.pk)
    if others.exists():
        raise Refused(sentence, field=field)
    return name


@contextmanager
def one_of_its_name(sentence: str, *, field: str = "name") -> Iterator[None]:
    """Turn the database's own refusal of a second row of the same name, lost in a race, into a sentence."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as twice:
        raise Refused(sentence, field=field) from twice
