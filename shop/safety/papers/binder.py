"""The binder: every sheet in force, with contents, as one PDF that is made in the background and kept.

`carry_on` makes one. One worker at a time has it, by a conditional UPDATE; if it is cut off, the job takes it up again:
all that is kept of a half-made binder is how far it was.
"""

import hashlib
import logging
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

from django.conf import settings
from django.db.models import F, Q

from shop import clock, paper
from shop.people.models import Room
from shop.people.queries import the_room
from shop.safety import queries
from shop.safety.models import Binder
from shop.safety.papers import sheets
from shop.safety.papers.sheets import SheetPaper

log = logging.getLogger(__name__)

#: The job that makes binders, by its name in jobs.registry.
JOB = "make binders"
#: After so long without a sign a worker is taken to be gone.
_LEASE = timedelta(minutes=5)
#: So many binders are kept for each paper, the newest: somebody may be reading the one before.
_KEPT = 2
_BROKE_OFF = "Making it broke off by a fault of this program, which is in its log. Ask for it again."
_NO_TYPE = "This machine lacks Pango, the library that sets type for papers. Have it installed, then ask again."


def in_force(opens: str) -> list[SheetPaper]:
    """The papers of all sheets in force, in their order; their codes open pages of `opens`."""
    return queries.papers_in_force(lambda sheet: opens + sheet.get_absolute_url())


def fingerprint(papers: Sequence[SheetPaper], room: Room, page_size: str) -> str:
    """Of everything that stands in a binder; 20 hex digits."""
    told = [page_size, *(sheets.fingerprint(one, room=room) for one in papers)]
    others = [(state.sheet.title, state.words) for state in queries.sheet_states() if state.in_force is None]
    return hashlib.sha256(repr([told, others]).encode()).hexdigest()[:20]


def file_of(binder: Binder) -> Path:
    return Path(settings.MEDIA_ROOT) / "binders" / binder.file


def carry_on_all() -> str:
    """Make the binders that were asked for; a job's work. Safe to run twice."""
    waiting = list(Binder.objects.filter(made_at=None, why="").order_by("pk").values_list("pk", flat=True))
    return f"{sum(carry_on(pk) for pk in waiting)} made"


def carry_on(pk: int) -> bool:
    """Make one binder. False if it is made already, or another worker has it."""
    with clock.in_zone(the_room().zone):
        now = clock.now()
        free = Q(working_since=None) | Q(working_since__lt=now - _LEASE)
        if not Binder.objects.filter(free, pk=pk, made_at=None, why="").update(working_since=now, done=0):
            return False
        binder = Binder.objects.get(pk=pk)
        try:
            _make(binder)
        except paper.PaperMissing:
            _give_up(pk, _NO_TYPE)
        except Exception:
            log.exception("binder %s broke off", pk)
            _give_up(pk, _BROKE_OFF)
        return True


def _make(binder: Binder) -> None:
    """Set each sheet by itself, to find the type in which it stands on one page; then all of them as one."""
    room, papers = the_room(), in_force(binder.opens)
    whole = fingerprint(papers, room, binder.paper)
    mine = Binder.objects.filter(pk=binder.pk)
    mine.update(of=len(papers) + 1)
    tight = []
    for one in papers:
        laid_out = sheets.lay_out(one, room=room, page_size=binder.paper)
        tight.append((one, laid_out.tight, laid_out.pages > 1))
        mine.update(done=F("done") + 1, working_since=clock.now())
    missing = [state for state in queries.sheet_states() if state.in_force is None and state.sheet.is_active]
    given = {"room": room, "sheets": tight, "missing": missing}
    laid_out = paper.lay_out("print/binder.html", given, binder.paper, accessible=True)
    name = f"{uuid4().hex}.pdf"
    binder.file = name
    sheets.keep(file_of(binder), laid_out.pdf())
    mine.update(
        file=name,
        fingerprint=whole,
        pages=laid_out.pages,
        done=F("of"),
        made_at=clock.now(),
        working_since=None,
    )
    _clear(binder)


def _give_up(pk: int, why: str) -> None:
    Binder.objects.filter(pk=pk).update(why=why, working_since=None)


def _clear(binder: Binder) -> None:
    """Let go of the files of older binders."""
    older = Binder.objects.filter(paper=binder.paper).exclude(file="").order_by("-pk")[_KEPT:]
    for one in older:
        Binder.objects.filter(pk=one.pk).update(file="", made_at=None, why="Another took its place.")
        file_of(one).unlink(missing_ok=True)
