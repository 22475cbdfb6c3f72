"""What duties do by themselves: starter content begins, and everything is worked out anew in good time."""

from django.db import transaction

from shop import clock
from shop.duties import effects, standing
from shop.duties.models import Duty, Touch
from shop.people.queries import the_room


def work_out_care() -> str:
    """Begin starter duties, find what they touch by its name, and bring what is kept of every duty up to date.

    Safe to run twice, and often: only what changed is written.
    """
    with clock.in_zone(the_room().zone), transaction.atomic():
        _find_targets()
        return standing.refresh()


def _find_targets() -> None:
    """Starter content names what a duty touches; here it gets the number that this has in the room, if it is there."""
    for touch in Touch.objects.filter(target=None):
        effect = effects.of_kind(touch.kind)
        found = [target.id for target in effect.targets() if target.name == touch.target_name] if effect else []
        if not found:
            continue
        Touch.objects.filter(pk=touch.pk).update(target=found[0])
        if touch.kind == effects.ResetMeter.kind:
            Duty.objects.filter(pk=touch.duty_id, meter=found[0]).update(resets_own_meter=True)
