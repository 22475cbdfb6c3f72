"""Reading sides that were cut."""

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Count, Func, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.expressions import Combinable

from shop.cutting.models import Blame, BookingSide, Outcome, Report, Side, Withdrawal
from shop.prepared import Given, prepared
from shop.stock.ledger import Owner


def sides() -> QuerySet[Side]:
    """Every side with all that a line shows, latest first."""
    return Side.objects.select_related(
        "wanted__booking", "lathe", "life__stylus", "lot__item", "by", "run__started_by", "reject_reason", "withdrawal"
    ).order_by("-at", "-id")


def is_good(sides: str = "") -> Q:
    """Of a query: the cut is good, was not withdrawn, and its master was not refused by the platers.

    sides: how the query comes to the cut, as in "wanted__cuts__".
    """
    unrefused = Q(**{f"{sides}master__isnull": True}) | Q(
        **{f"{sides}master__report__in": ["", Report.FINE, Report.NOISY]}
    )
    return Q(**{f"{sides}outcome": Outcome.GOOD, f"{sides}withdrawal__isnull": True}) & unrefused


def good_cut(wanted: BookingSide) -> Side | None:
    """The last good cut of a booked side that stands."""
    return _good_cut.first(wanted=wanted.pk)


@prepared
def _good_cut() -> QuerySet[Side]:
    return Side.objects.filter(is_good(), wanted=Given("wanted", IntegerField())).order_by("-at", "-id")[:1]


def sides_since(moment: str) -> Combinable:
    """For the query of another table: how many sides ended after the moment in that field of it, and stand."""
    later = Side.objects.filter(at__gt=OuterRef(moment), withdrawal__isnull=True).order_by()
    # not Count: that would group by the side
    return Subquery(later.annotate(many=Func("pk", function="COUNT", output_field=IntegerField())).values("many"))


@dataclass(frozen=True)
class Trail:
    """What a side left where. before_s, after_s: seconds on its edge before the cut and after it; at least those, where
    the age of the edge is not known.

    balance: what the lot held once its blank was gone.
    """

    before_s: int
    after_s: int
    balance: int
    age_is_known: bool


def trail(side: Side) -> Trail:
    """What the side left on its life and in its lot; earlier sides that were withdrawn since don't count."""
    earlier = Side.objects.filter(life_id=side.life_id, withdrawal__isnull=True).filter(
        Q(at__lt=side.at) | Q(at=side.at, id__lt=side.pk)
    )
    before = (side.life.before_s or 0) + (earlier.aggregate(total=Sum("cut_s"))["total"] or 0)
    return Trail(
        before_s=before,
        after_s=before + side.cut_s,
        balance=side.movement.balance,
        age_is_known=side.life.age_is_known,
    )


def faulty_blanks(lot_ids: Collection[int]) -> dict[int, int]:
    """For stock: how many sides of each of these lots were rejected for their blank and stand; one query."""
    rejected = Side.objects.filter(
        lot__in=lot_ids, outcome=Outcome.REJECTED, reject_reason__blame=Blame.BLANK, withdrawal__isnull=True
    )
    return dict(rejected.order_by().values_list("lot").annotate(Count("pk")))


def owners(movement_ids: Collection[int]) -> dict[int, Owner]:
    """For the ledger: which movements belong to a side or to the withdrawal of one."""
    found: dict[int, Owner] = {}
    for side in Side.objects.filter(movement_id__in=movement_ids):
        found[side.movement_id] = Owner(label=f"side {side.pk}", link=side.get_absolute_url())
    for taken in Withdrawal.objects.filter(movement_id__in=movement_ids).select_related("side"):
        found[taken.movement_id] = Owner(
            label=f"withdrawal of side {taken.side_id}", link=taken.side.get_absolute_url()
        )
    return found
