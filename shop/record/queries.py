"""Reading the record."""

from django.db.models import QuerySet

from shop.press.models import Line


def lines() -> QuerySet[Line]:
    return Line.objects.select_related("by")


def acts() -> list[str]:
    """Every act there is a line of, by name."""
    return list(Line.objects.order_by("act").values_list("act", flat=True).distinct())


def act_words(act: str) -> str:
    """An act as people read it: "stock.take_stock" is "Take stock"."""
    return act.rpartition(".")[2].replace("_", " ").capitalize()


def area_words(act: str) -> str:
    """Which part of the program an act belongs to."""
    return act.partition(".")[0].capitalize()
