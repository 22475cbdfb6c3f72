"""The shop's own rules of the watch, and what its actions check."""

from shop.watch.models import WatchRules


def the_rules(*, locked: bool = False) -> WatchRules:
    """The one row, made with its defaults the first time. locked: ours until the transaction ends."""
    rows = WatchRules.objects.select_for_update() if locked else WatchRules.objects
    return rows.get_or_create(pk=1)[0]
