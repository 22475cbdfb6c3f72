"""Since when the oldest open container has been open: what meters of days in care go by."""

from shop.duties import meters
from shop.safety.models import Container, Substance

#: The meter that goes by the oldest open container of all.
OF_ALL = "open"


def key_of(substance: Substance) -> str:
    """The meter that goes by the oldest open container of one substance."""
    return f"{OF_ALL}-{substance.slug}"[:40]


def begin(substance: Substance) -> None:
    """Let there be a meter for a substance of which a container is opened."""
    meters.begin_to_follow(
        key=key_of(substance),
        name=f"{substance.name[:40]} open",
        follows=f"the oldest open container of {substance.name}"[:60],
    )


def follow(substance: Substance) -> None:
    """Tell both meters since when their oldest has been open; called wherever one is opened or finished."""
    opened = Container.objects.filter(ended_at=None).order_by("opened_at", "pk").values_list("opened_at", flat=True)
    meters.follow(key=OF_ALL, since=opened.first())
    meters.follow(key=key_of(substance), since=opened.filter(substance=substance).first())
