"""Photographs: made anew before they are kept, so that nothing of the file that came is.

What comes is looked at by its first bytes, and by its size before its pixels; what is kept is a JPEG of our own making,
smaller, turned upright, without place, date or device, under a random name in a folder that no web server serves.
A photograph is kept before the press that it came with is done, so that a refusal does not lose it; what nothing took
up is cleared away. Higher rooms that keep photographs too say which are theirs.
"""

import hashlib
import io
import re
import secrets
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core import signing
from django.core.files.uploadedfile import UploadedFile
from django.db.models import Model
from django.http import Http404, HttpResponse
from PIL import Image, ImageFile, ImageOps

from shop import clock
from shop.duties.models import Photo

#: The largest file and picture that is looked at, and the longer side of what is kept.
MOST_BYTES, MOST_PIXELS, SIDE = 15_000_000, 60_000_000, 1600
#: What browsers are asked for, and what is read.
ACCEPT = "image/jpeg,image/png,image/webp"
_FORMATS = ("JPEG", "PNG", "WEBP", "MPO")
_SALT = "care photograph"
_KEEP = timedelta(days=2)
_NAME = re.compile(r"[0-9a-f]{32}")


#: The tables that name photographs that are kept, each in a column `name`.
_claimed: list[type[Model]] = [Photo]


def register_claims(model: type[Model]) -> None:
    """Let the photographs that this table names be kept too."""
    if model not in _claimed:
        _claimed.append(model)


class KeptPhoto(str):
    """A photograph that was kept: equal to another with the same pixels, whatever its name."""

    name: str
    width: int
    height: int

    @classmethod
    def of(cls, digest: str, name: str, width: int, height: int) -> "KeptPhoto":
        made = cls(digest)
        made.name, made.width, made.height = name, width, height
        return made


def file_of(name: str) -> Path:
    """Where a photograph lies. ValueError for a name that is not one of ours."""
    if not _NAME.fullmatch(name):
        raise ValueError("no such photograph")
    return Path(settings.MEDIA_ROOT) / "care" / name[:2] / f"{name}.jpg"


def keep(upload: UploadedFile) -> KeptPhoto:
    """Make a photograph of what was sent, and keep it. ValueError, with a sentence, for what is none or too large."""
    if (upload.size or 0) > MOST_BYTES:
        raise ValueError(f"That file is larger than {MOST_BYTES // 1_000_000} MB. Take the photograph smaller.")
    made, width, height = _made_anew(upload)
    name = secrets.token_hex(16)
    file = file_of(name)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(made)
    return KeptPhoto.of(hashlib.sha256(made).hexdigest(), name, width, height)


_NO_PHOTOGRAPH = "That is not a photograph that can be read. Send a JPEG, PNG or WebP."
_CUT_SHORT = "The file ends before the picture does, so it did not come through whole. Choose it again."


class _TooLarge(ValueError):
    pass


def _made_anew(upload: Any) -> tuple[bytes, int, int]:
    # WeasyPrint lets the whole process take files that end too soon, from when it is loaded on; none of ours do.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    too_large = f"That picture has more than {MOST_PIXELS // 1_000_000} million pixels. Take it smaller."
    try:
        with Image.open(upload, formats=_FORMATS) as sent:
            if sent.width * sent.height > MOST_PIXELS:
                raise _TooLarge(too_large)
            sent.draft("RGB", (SIDE, SIDE))  # a large JPEG is read at a fraction of its size
            upright = ImageOps.exif_transpose(sent)
            upright.thumbnail((SIDE, SIDE))
            whole = upright.convert("RGBA")
            plain = Image.new("RGB", whole.size, "white")
            plain.paste(whole, mask=whole)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise _TooLarge(too_large) from bomb
    except _TooLarge:
        raise
    except OSError as broken:
        cut_short = "truncated" in str(broken)
        raise ValueError(_CUT_SHORT if cut_short else _NO_PHOTOGRAPH) from broken
    except Exception as broken:  # whatever a file can do to its reader
        raise ValueError(_NO_PHOTOGRAPH) from broken
    drawn = io.BytesIO()
    plain.save(drawn, "JPEG", quality=82, optimize=True)
    return drawn.getvalue(), plain.width, plain.height


def ticket(photo: KeptPhoto, person: int) -> str:
    """What a form hands back to say that the photograph came with an earlier press of it; only for that person."""
    return signing.dumps([str(photo), photo.name, photo.width, photo.height, person], salt=_SALT)


def from_ticket(given: str, person: int) -> KeptPhoto | None:
    """The photograph of a ticket that this person was given; None if it is not one, or too old."""
    try:
        digest, name, width, height, whose = signing.loads(given, salt=_SALT, max_age=_KEEP)
    except (signing.BadSignature, ValueError):
        return None
    return KeptPhoto.of(digest, name, width, height) if whose == person and file_of(name).is_file() else None


def _is_claimed(name: str) -> bool:
    return any(model._default_manager.filter(name=name).exists() for model in _claimed)


def shown(name: str, called: str) -> HttpResponse:
    """A kept photograph as an answer, named as a file to keep, so that it is never run as a page."""
    try:
        kept = file_of(name).read_bytes()
    except (OSError, ValueError) as gone:
        raise Http404("The file of that photograph is not there.") from gone
    answer = HttpResponse(kept, content_type="image/jpeg")
    answer["Content-Disposition"] = f'attachment; filename="{called}.jpg"'
    return answer


def clear_unclaimed() -> str:
    """Remove photographs that nothing took up within two days."""
    long_ago = (clock.now() - _KEEP).timestamp()
    removed = 0
    for file in (Path(settings.MEDIA_ROOT) / "care").glob("*/*.jpg"):
        if file.stat().st_mtime < long_ago and not _is_claimed(file.stem):
            file.unlink(missing_ok=True)
            removed += 1
    return f"{removed} removed"
