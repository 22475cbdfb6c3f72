"""The second look at a file: by reader.py, in a process of its own that is ended when its time is over."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from shop.safety.sheet_files.first_look import SAID, NotTaken

#: The most pages of a sheet; most have ten to twenty.
MOST_PAGES = 200
#: How long somebody waits, in seconds.
MOST_SECONDS = 20
#: What reader.py is held to: objects, and pieces they are made of; packings one in another; bytes that one stream
#: unpacks to, and all of them; pixels of a picture; letters of a page; bytes of memory; seconds, of which
#: what the first half leaves over is for the words.
CAPS = {
    "pages": MOST_PAGES,
    "objects": 50_000,
    "pieces": 2_000_000,
    "packings": 3,
    "unpacked": 40_000_000,
    "all_unpacked": 150_000_000,
    "pixels": 60_000_000,
    "letters": 30_000,
    "memory": 800_000_000,
    "seconds": 16,
}
_READER = Path(__file__).with_name("reader.py")


@dataclass(frozen=True)
class Looked:
    """What was seen: the number of pages, and their words as far as there was time, from the first on."""

    pages: int
    texts: tuple[str, ...]


def looked_through(content: bytes) -> Looked:
    """Look through a PDF. NotTaken, with the reason, for one that holds what is not taken, or cannot be looked at."""
    lines = _read(content)
    first = lines[0] if lines else {"refused": "time"}
    if "pages" not in first:
        raise NotTaken(SAID.get(str(first.get("refused")), SAID["broken"]))
    pages = int(str(first["pages"]))
    if pages > MOST_PAGES:
        raise NotTaken(f"It has {pages} pages; at most {MOST_PAGES} are taken. Send the sheet of one product.")
    return Looked(pages, tuple(str(line.get("text", "")) for line in lines[1:]))


def _read(content: bytes) -> list[dict[str, object]]:
    """The lines that the reader wrote before it was done, or its time over."""
    reader = subprocess.Popen(
        [sys.executable, "-I", "-B", str(_READER), json.dumps(CAPS)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={"PATH": os.defpath, "LANG": "C.UTF-8"},
        cwd="/",
    )
    try:
        told, _ = reader.communicate(content, timeout=MOST_SECONDS)
    except subprocess.TimeoutExpired:
        reader.kill()
        told, _ = reader.communicate()
    except BaseException:
        reader.kill()
        reader.wait()
        raise
    if not told and reader.returncode and reader.returncode > 0:  # it could not even say why
        return [{"refused": "broken"}]
    try:
        return [dict(json.loads(line)) for line in told.decode("utf-8", "replace").split("\n")[:-1]]
    except (TypeError, ValueError):
        return [{"refused": "broken"}]
