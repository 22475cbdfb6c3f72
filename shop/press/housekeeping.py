"""How long a press is remembered."""

from datetime import timedelta

from shop import clock
from shop.press.models import Press

#: A form open longer than this may be pressed into a second record; nobody keeps a page open that long.
KEEP_PRESSES = timedelta(days=90)


def forget_old_presses() -> str:
    """Remove presses older than KEEP_PRESSES; what came of them stays, of course."""
    count, _ = Press.objects.filter(at__lt=clock.now() - KEEP_PRESSES).delete()
    return f"{count} forgotten"
