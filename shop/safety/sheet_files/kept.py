"""Where suppliers' sheets lie: as they came, under names that say nothing, in a folder that no web server serves.

A file is kept once it was looked through, and before the press that it came with is done, so that a refusal does not
lose it: the form hands back a signed ticket. What no sheet took up is cleared away.
"""

import errno
import hashlib
import os
import re
import secrets
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core import signing
from django.core.files.uploadedfile import UploadedFile

from shop import clock
from shop.safety.models import SupplierSheet
from shop.safety.sheet_files.first_look import MOST_BYTES, NotTaken, looked_at
from shop.safety.sheet_files.looking import looked_through
from shop.safety.sheet_files.section_two import Suggestion, suggested
from shop.safety.sheet_files.sections import first_pages

_SALT = "supplier sheet"
_KEEP = timedelta(days=2)
_NAME = re.compile(r"[0-9a-f]{32}")
_FULL = (
    "There is no room left on this machine's disk, so nothing was kept. Whoever looks after the machine has to make "
    "room; then send it again."
)


class KeptSheet(str):
    """A file that was kept: equal to another with the same bytes, whatever its name.

    called: its name where it came from; size: bytes; first_pages: by the number of the section; suggestion: what
    section 2 seems to say.
    """

    name: str
    called: str
    size: int
    pages: int
    first_pages: dict[str, int]
    suggestion: Suggestion

    @classmethod
    def of(cls, digest: str, **facts: Any) -> "KeptSheet":
        made = cls(digest)
        vars(made).update(facts)
        return made


def file_of(name: str) -> Path:
    """Where a sheet lies. ValueError for a name that is not one of ours."""
    if not _NAME.fullmatch(name):
        raise ValueError("no such file")
    return Path(settings.MEDIA_ROOT) / "supplier-sheets" / name[:2] / f"{name}.pdf"


def keep(upload: UploadedFile) -> KeptSheet:
    """Look at a file that was sent, and keep it. NotTaken, with a sentence, for what is not taken; then nothing is."""
    if (upload.size or 0) > MOST_BYTES:  # before it is read
        raise NotTaken(f"That file is larger than {MOST_BYTES // (1024 * 1024)} MB, the most that is taken.")
    content = upload.read()
    called = looked_at(str(upload.name), content)
    looked = looked_through(content)
    return KeptSheet.of(
        hashlib.sha256(content).hexdigest(),
        name=_written(content),
        called=called,
        size=len(content),
        pages=looked.pages,
        first_pages={str(section): page for section, page in first_pages(looked.texts).items()},
        suggestion=suggested(looked.texts),
    )


def _written(content: bytes) -> str:
    """Put the bytes where they stay: all of them, or nothing."""
    name = secrets.token_hex(16)
    file = file_of(name)
    part = file.with_suffix(".part")
    try:
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with open(part, "xb", opener=lambda path, flags: os.open(path, flags, 0o600)) as writing:
            writing.write(content)
            writing.flush()
            os.fsync(writing.fileno())
        part.rename(file)
    except OSError as failed:
        part.unlink(missing_ok=True)
        if failed.errno in (errno.ENOSPC, errno.EDQUOT):
            raise NotTaken(_FULL) from failed
        raise
    return name


def content_of(sheet: SupplierSheet) -> bytes:
    """The bytes of a sheet, as they were kept. OSError where they are gone, or not what they were."""
    content = file_of(sheet.file).read_bytes()
    if hashlib.sha256(content).hexdigest() != sheet.digest:
        raise OSError("it is not what was kept")
    return content


def ticket(sheet: KeptSheet, person: int) -> str:
    """What a form hands back to say that the file came with an earlier press of it; only for that person."""
    facts = [str(sheet), sheet.name, sheet.called, sheet.size, sheet.pages, sheet.first_pages, sheet.suggestion.plain()]
    return signing.dumps([*facts, person], salt=_SALT, compress=True)


def from_ticket(given: str, person: int) -> KeptSheet | None:
    """The file of a ticket that this person was given; None if it is not one, or too old."""
    try:
        digest, name, called, size, pages, first, found, whose = signing.loads(given, salt=_SALT, max_age=_KEEP)
    except (signing.BadSignature, ValueError):
        return None
    if whose != person or not file_of(name).is_file():
        return None
    facts = {"name": name, "called": called, "size": size, "pages": pages, "first_pages": first}
    return KeptSheet.of(digest, **facts, suggestion=Suggestion(**found))


def clear_unclaimed() -> str:
    """Remove files that no sheet took up within two days."""
    long_ago = (clock.now() - _KEEP).timestamp()
    removed = 0
    for file in (Path(settings.MEDIA_ROOT) / "supplier-sheets").glob("*/*"):
        if file.stat().st_mtime < long_ago and not SupplierSheet.objects.filter(file=file.stem).exists():
            file.unlink(missing_ok=True)
            removed += 1
    return f"{removed} removed"
