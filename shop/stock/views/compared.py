"""How the lots of an item of blanks compare."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.people.requests import PersonRequest
from shop.press.forms import PressForm
from shop.stock import compared, quality, queries
from shop.stock.models import Item


@require_safe
def compare_lots(request: PersonRequest) -> HttpResponse:
    """Of ?item=, else of the first item of blanks of which anything was begun."""
    items = list(queries.items().filter(quality.BEGUN))
    chosen = _chosen(request.GET.get("item", ""), items)
    found = quality.standings(chosen) if chosen else []
    drawn = [one for one in found if one.known.tried]
    suppliers = quality.by_supplier(found)
    context = {
        "items": items,
        "item": chosen,
        "lots": [_line(one) for one in found],
        "worse": [_line(one) for one in found if one.is_worse],
        "suppliers": [{"of": one, "share": compared.interval_words(one.share)} for one in suppliers],
        "described": compared.described(chosen, found) if chosen and drawn else "",
        "picture": compared.lots_picture(chosen, found) if chosen and drawn else "",
        "suppliers_picture": compared.suppliers_picture(chosen, suppliers) if chosen and len(suppliers) > 1 else "",
        "some": quality.SOME,
        "soon": quality.SOON,
        "hold": PressForm(person=request.user),
    }
    return render(request, "stock/compare_lots.html", context)


def _chosen(asked: str, items: list[Item]) -> Item | None:
    return next((item for item in items if str(item.pk) == asked), items[0] if items else None)


def _line(one: quality.Standing) -> dict[str, object]:
    kept = quality.kept(one)
    return {
        "one": one,
        "lot": one.lot,
        "share": compared.interval_words(one.known.share) if one.known.share else "",
        "chance": compared.chance_words(one.verdict.p_adjusted) if one.verdict else "",
        "words": compared.worse_words(kept) if kept else "",
        "why": compared.hold_words(kept) if kept else "",
    }
