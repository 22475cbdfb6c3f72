"""Actions: everything that writes.

An action is one function, one outermost transaction, one record for one press. `@action` opens the transaction,
checks the role, and remembers the form's one-time token with what came of it, so that a double tap, a retry after a
lost connection or the back button gets the first result again. In the same transaction it writes a line of the record.
"""

import hashlib
import json
from collections.abc import Callable, Collection
from datetime import date, datetime, time
from decimal import Decimal
from enum import Enum
from functools import wraps
from typing import Any, TypeVar, cast
from uuid import UUID

from django.apps import apps
from django.db import IntegrityError, models, transaction

from shop import clock
from shop.press import record
from shop.press.models import Press
from shop.refusal import NOT_YOUR_ROLE, NotAllowed, TokenTrouble, ask_whom

R = TypeVar("R", bound=models.Model | None)

#: What is confirmed or displayed, not done: pressing again with more of it confirmed is the same press. A `secret` is
#: made by the program at each press, and typed by nobody: whoever presses again gets the first result, without it.
_NOT_THE_DEED = {"sure", "secret"}
#: Left out too: a quick hash of a password is not to be kept anywhere.
_SECRET = {"password", "old_password", "personal_code"}


def _plain(value: Any) -> Any:
    """A JSON-able stand-in that is equal exactly when the typed value is."""
    if isinstance(value, models.Model):
        return [value._meta.label_lower, str(value.pk)]
    if isinstance(value, (Decimal, UUID, date, datetime, time)):
        return str(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, models.QuerySet | set | frozenset):
        return sorted(json.dumps(_plain(v)) for v in value)
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if hasattr(value, "__dataclass_fields__"):
        return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__}
    return value


def digest_of(typed: dict[str, Any]) -> str:
    """Fingerprint of what was typed: SHA-256, hex, 64 characters."""
    deed = {name: _plain(value) for name, value in typed.items() if name not in _NOT_THE_DEED | _SECRET}
    return hashlib.sha256(json.dumps(deed, sort_keys=True).encode()).hexdigest()


def _pressed(*, token: UUID, **press: Any) -> tuple[Press, bool]:
    """The press with that token, and whether this is the first. Written before it is looked for: nearly all are."""
    try:
        with transaction.atomic():
            return Press.objects.create(token=token, at=clock.now(), **press), True
    except IntegrityError:
        if (first := Press.objects.filter(token=token).first()) is None:
            raise
        return first, False


def _first_result(press: Press, *, by: models.Model | None, act: str, digest: str) -> models.Model | None:
    """What the first press with this token made; refuses a token of another's or one reused for something else."""
    if press.by_id != (by.pk if by is not None else None) or press.act != act:
        raise TokenTrouble(
            "That form belonged to someone or something else. Nothing was saved now: press again if what stands here "
            "is to be saved."
        )
    rows = apps.get_model(press.result_model)._default_manager if press.result_model else None
    first = rows.filter(pk=press.result_pk).first() if rows is not None else None
    if press.digest != digest:
        raise TokenTrouble(
            "That form was already saved, with other values in it; the first is kept. Nothing was saved now: press "
            "again only if what stands here is to be saved as well.",
            was_saved=True,
            first=first,
        )
    if rows is not None and first is None:
        raise TokenTrouble(
            "That form was already saved, and what it saved has been taken away since. Nothing was saved now: press "
            "again only if it is to be saved anew.",
            was_saved=True,
        )
    return first


def action(
    *, roles: Collection[str], unsigned: Callable[[dict[str, Any]], bool] | None = None
) -> Callable[[Callable[..., R]], Callable[..., R]]:
    """Make a keyword-only function with a `by` into an action that takes `by` and `once`.

    roles: those whose people may do it (values of people.models.Role). The wrapped function is called inside the
    outermost transaction (`durable`), without `once`; it returns the record it made, or None. Raises NotAllowed for
    another role, TokenTrouble for a missing or foreign token, and whatever Refused the function raises: then nothing
    is written and the token may be used again.

    unsigned: says of what was typed whether it is done without a name. Who pressed is then asked for their role and no
    more: the function is given None for `by`, and neither the press nor the record says who it was.
    """

    def dress(function: Callable[..., R]) -> Callable[..., R]:
        act = f"{function.__module__}.{function.__qualname__}"
        #: "stock.take_stock", wherever in its app the function stands
        short = f"{function.__module__.removeprefix('shop.').partition('.')[0]}.{function.__qualname__}"

        @wraps(function)
        def run(*args: Any, by: Any, once: UUID | None, **typed: Any) -> R:
            if args:
                raise TypeError(f"{act} takes keywords only")
            if not by.is_active or by.role not in roles:
                raise NotAllowed(ask_whom(NOT_YOUR_ROLE, roles))
            if once is None:
                raise TokenTrouble("The page lost its one-time token. Nothing was saved; press again.")
            if unsigned is not None and unsigned(typed):
                by = None
            digest = digest_of(typed)
            with transaction.atomic(durable=True):
                press, is_first = _pressed(token=once, by=by, act=act, digest=digest)
                if not is_first:
                    return cast(R, _first_result(press, by=by, act=act, digest=digest))
                rows = [value for value in typed.values() if isinstance(value, models.Model) and value.pk is not None]
                before = [record.columns(row) for row in rows]
                result = function(by=by, **typed)
                if result is not None:
                    press.result_model = result._meta.label_lower
                    press.result_pk = str(result.pk)
                    press.save(update_fields=["result_model", "result_pk"])
                after = [record.columns(row) for row in rows]
                record.write(
                    by=by,
                    act=short,
                    thing=result if result is not None else next(iter(rows), None),
                    said={name: record.kept(name, value) for name, value in typed.items() if name != "sure"},
                    changed={
                        record.named(row): differs
                        for row, was, became in zip(rows, before, after, strict=True)
                        if (differs := record.changes(was, became))
                    },
                )
            return result

        run.roles = frozenset(roles)  # type: ignore[attr-defined]
        return run

    return dress
