"""Which side, booking, stylus or parcel each page of cutting is opened on, and what is made for them."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django.db.models import Model, QuerySet

from shop import clock
from shop.cutting import actions as cutting
from shop.cutting.actions import WantedSide
from shop.cutting.models import (
    Away,
    Booking,
    EndReason,
    Lathe,
    Master,
    NoiseLevel,
    Parcel,
    RejectReason,
    Side,
    Stylus,
    StylusKind,
    TipPhoto,
)
from shop.cutting.queries import waiting_masters
from shop.people.models import Person
from tests.makers import anyway


def _last(rows: QuerySet[Any]) -> int:
    return int(rows.order_by("-pk")[0].pk)


def _any(model: type[Model]) -> Callable[[], int]:
    return lambda: _last(model._default_manager.all())


def _open_booking() -> int:
    return _last(Booking.objects.filter(cut_on=clock.today(), finished_at=None, cancelled_at=None))


def _standing_side() -> int:
    return _last(Side.objects.filter(withdrawal=None))


def _in_head() -> int:
    return _last(Stylus.objects.filter(lives__fittings__off_at=None, lives__fittings__isnull=False))


def _spare_stylus() -> int:
    return _last(Stylus.objects.filter(retired_at=None).exclude(pk=_in_head()).exclude(times_away__isnull=False))


def _traced_lot() -> tuple[str, int]:
    return "lot", Side.objects.get(pk=_standing_side()).lot_id


CUTTING_SCENES: dict[str, Callable[[], Any]] = {
    "cutting:side": _standing_side,
    "cutting:withdraw-side": _standing_side,
    "cutting:booking": _open_booking,
    "cutting:change-booking": _open_booking,
    "cutting:finish-booking": _open_booking,
    "cutting:cancel-booking": _open_booking,
    "cutting:reopen-booking": lambda: _last(Booking.objects.filter(finished_at__isnull=False, code="X-1")),
    "cutting:booking-cost": lambda: _last(Booking.objects.filter(wanted__cuts__isnull=False).distinct()),
    "cutting:trace-of": _traced_lot,
    "cutting:trace-pdf": _traced_lot,
    "cutting:stylus": _in_head,
    "cutting:take-off-stylus": _in_head,
    "cutting:look-over-stylus": _in_head,
    "cutting:retire-stylus": _in_head,
    "cutting:fit-stylus": _spare_stylus,
    "cutting:reinstate-stylus": lambda: _last(Stylus.objects.filter(retired_at__isnull=False)),
    "cutting:change-stylus-kind": _any(StylusKind),
    "cutting:stylus-kind": lambda: Stylus.objects.get(pk=_in_head()).kind_id,
    "cutting:change-stylus": _spare_stylus,
    "cutting:send-stylus-away": _in_head,
    "cutting:take-stylus-back": lambda: Away.objects.filter(back_at=None).latest("pk").stylus_id,
    "cutting:add-tip-photo": _in_head,
    "cutting:tip-photo": lambda: TipPhoto.objects.latest("pk").name,
    "cutting:add-noise-level": _in_head,
    "cutting:strike-noise-level": _any(NoiseLevel),
    "cutting:overrule-advice": _in_head,
    **dict.fromkeys(["cutting:parcel", "cutting:note-arrival", "cutting:report-masters"], _any(Parcel)),
    "cutting:send-after-all": lambda: _last(Master.objects.filter(kept_at__isnull=False)),
    "cutting:change-reject-reason": _any(RejectReason),
    "cutting:change-lathe": _any(Lathe),
}


def with_cutting(owner: Person) -> None:
    """A booking left with its side uncut; a stylus in the drawer, one away and one retired; a noisy groove of that in
    the head, so that the advice speaks against it; a master that was kept back."""
    wanted = WantedSide(label="A", play_s=600, disc_in=12, speed="45", width_um=60, land_um=12)
    booking = anyway(
        cutting.add_booking, by=owner, code="X-1", title="Half Kites", customer="", cut_on=clock.today(), sides=[wanted]
    )
    anyway(cutting.finish_booking, by=owner, booking=booking)
    kind = StylusKind.objects.filter(is_active=True)[0]
    cutting.add_stylus(by=owner, once=uuid4(), mark="Z1", kind=kind)
    away = cutting.add_stylus(by=owner, once=uuid4(), mark="Z3", kind=kind)
    cutting.send_stylus_away(by=owner, once=uuid4(), stylus=away, sent_to="The Lapping Loft")
    in_head = Stylus.objects.get(pk=_in_head())
    anyway(cutting.add_noise_level, by=owner, stylus=in_head, level_db=-49.0)
    kept = list(waiting_masters())[:1]
    anyway(cutting.keep_masters_back, by=owner, masters=kept, why="A reference for the shelf.")
    worn = cutting.add_stylus(by=owner, once=uuid4(), mark="Z2", kind=kind)
    cutting.retire_stylus(by=owner, once=uuid4(), stylus=worn, reason=EndReason.CHIPPED)
