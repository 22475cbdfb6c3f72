"""Files that were sent: how large they may be, what they are by their bytes, and where they lie while needed."""

import hashlib
import os
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings

from shop import clock
from shop.stock.sheets.faults import Refusal

#: The largest file that is taken, in bytes: room for more rows than MOST_ROWS.
MOST_BYTES = 15 * 1024 * 1024
#: The most rows with something in them: while they are written, which takes some ten seconds, other presses wait.
MOST_ROWS = 50_000
#: What an XLSX file, which is a ZIP archive, may unpack to: in all, and its table of texts, which is held in memory.
MOST_UNPACKED, MOST_TEXTS = 150 * 1024 * 1024, 20 * 1024 * 1024
_MOST_PARTS = 2_000
#: Files that no intake knows are swept away after this long.
_ORPHANED = timedelta(hours=12)

_TEXT_ENDINGS = (".csv", ".tsv", ".txt")


@dataclass(frozen=True)
class SentFile:
    """A file as it came. The bytes are not among its fields, for the digest of a press is made of those."""

    name: str
    size: int
    digest: str

    @classmethod
    def of(cls, upload: Any) -> "SentFile":
        """From what Django received; reads it once through."""
        seen = hashlib.sha256()
        for chunk in upload.chunks():
            seen.update(chunk)
        sent = cls(os.path.basename(str(upload.name))[-120:], upload.size, seen.hexdigest())
        object.__setattr__(sent, "_upload", upload)
        return sent

    def keep(self) -> str:
        """Put the bytes into the data folder; give the random name they have there."""
        name = uuid4().hex
        folder().mkdir(mode=0o700, parents=True, exist_ok=True)
        with open(folder() / name, "xb", opener=lambda path, flags: os.open(path, flags, 0o600)) as kept:
            for chunk in self._upload.chunks():  # type: ignore[attr-defined]
                kept.write(chunk)
        return name


def folder() -> Path:
    """Where files lie while they are needed; nothing is ever served from it."""
    return Path(settings.MEDIA_ROOT) / "sheets"


def path(name: str) -> Path:
    """What was sent, by its random name."""
    return folder() / name


def rows_path(name: str) -> Path:
    """Its rows, once they were read."""
    return folder() / f"{name}.rows"


def remove(name: str) -> None:
    """Let go of a file and its rows."""
    if name:
        for file in (path(name), rows_path(name)):
            file.unlink(missing_ok=True)


def sweep(known: set[str]) -> int:
    """Remove what lies there and belongs to none of the `known` names; give how many files."""
    old = (clock.now() - _ORPHANED).timestamp()
    gone = 0
    for file in _lying():
        with suppress(FileNotFoundError):
            if file.name.partition(".")[0] not in known and file.stat().st_mtime < old:
                file.unlink()
                gone += 1
    return gone


def _lying() -> Iterator[Path]:
    return folder().iterdir() if folder().is_dir() else iter(())


# What it is -----------------------------------------------------------------------------------------------------------


def is_workbook(file: Path, name: str) -> bool:
    """True for an XLSX workbook, False for text; Refusal for anything else, by name or by content."""
    with open(file, "rb") as opened:
        head = opened.read(8)
    ending = os.path.splitext(name.casefold())[1]
    if not head:
        raise Refusal("The file is empty. Fill in the template, or write your list out anew, and send that.")
    if head.startswith(b"\xd0\xcf\x11\xe0"):
        raise Refusal(
            "That is a workbook of the old kind (.xls), or one locked with a password. Save it as .xlsx without a "
            "password, and send that."
        )
    if head.startswith(b"PK"):
        _look_into(file, ending)
        return True
    if ending not in _TEXT_ENDINGS:
        raise Refusal(
            "That file is not a workbook, whatever it is called. Save it as .xlsx or .csv, and send that."
            if ending == ".xlsx"
            else "Only .csv, .tsv, .txt and .xlsx files are read. Save your list as one of these, and send that."
        )
    return False


def _look_into(file: Path, ending: str) -> None:
    """Refuse an archive that is no plain workbook, or unpacks to more than is sound. Unpacks nothing."""
    try:
        with zipfile.ZipFile(file) as archive:
            parts = {part.filename: part.file_size for part in archive.infolist()}
            locked = any(part.flag_bits & 1 for part in archive.infolist())
            types = b""
            if parts.get("[Content_Types].xml", MOST_UNPACKED) < 1024 * 1024 and not locked:
                types = archive.read("[Content_Types].xml")
    except Exception as broken:  # a damaged archive raises whatever its unpackers do
        raise Refusal("The workbook is damaged and cannot be opened. Save it anew, and send that.") from broken
    names = {name.casefold() for name in parts}
    if ending == ".xlsm" or b"macroEnabled" in types or any(name.endswith("vbaproject.bin") for name in names):
        raise Refusal("That workbook holds macros. Save it as .xlsx, without them, and send that.")
    if "xl/workbook.xml" not in names or not types:
        raise Refusal("That is not an .xlsx workbook. Save your list as .xlsx or .csv, and send that.")
    if ending != ".xlsx":
        raise Refusal("That file is a workbook, but its name says otherwise. Name it .xlsx, and send that.")
    texts = sum(size for name, size in parts.items() if name.casefold().endswith("sharedstrings.xml"))
    if len(parts) > _MOST_PARTS or sum(parts.values()) > MOST_UNPACKED or texts > MOST_TEXTS:
        raise Refusal(
            "Unpacked, that workbook is far larger than a list of stock can be, so it was not opened. Copy the rows "
            "into a new workbook, without pictures and colours, and send that."
        )
