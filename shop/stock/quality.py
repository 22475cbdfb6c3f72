"""How lots of blanks compare: what share of each was spoiled, and which is clearly worse than its fellows.

tried: blanks that were used, tested or spoiled, or looked over if that is more; not those thrown out for what a lot is
not to blame for (a knock, old age). faulty: of these, spoiled for a defect that blames the lot, found by a look over
that sent the lot back, or rejected by a record elsewhere (cutting: sides rejected for the blank) that registers here.

Fellows are the lots of the same item, begun or looked over, that came in within two years up to the newest of them. A
lot is compared once SOME of it were tried, or SOON faulty ones were found by records elsewhere: what is found when a
box is opened is the worst of many that nobody counted, and would weigh too much before.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import timedelta

from django.db import transaction
from django.db.models import Case, Exists, F, IntegerField, Max, OuterRef, Q, Sum, Value, When
from django.db.models.functions import Coalesce

from shop import clock
from shop.calc.lots import LotCount, LotVerdict, compare_lots
from shop.calc.share import Share, wilson
from shop.stock.models import (
    ClearlyWorse,
    Inspection,
    Item,
    ItemKind,
    Lot,
    Movement,
    MovementKind,
    Outcome,
    Supplier,
)

#: How far back fellows go, and how many of them at most.
WINDOW = timedelta(days=730)
MOST_FELLOWS = 40
#: From how many tried on a lot is compared, and from how many faulty by records elsewhere at once.
SOME = 20
SOON = 3

#: Given ids of lots, how many blanks of each were spoiled for their own fault, by records that stock doesn't know.
FaultyQuestion = Callable[[Collection[int]], Mapping[int, int]]

_questions: dict[str, FaultyQuestion] = {}


def register_faulty(name: str, question: FaultyQuestion) -> None:
    """Let `question(lot_ids)` be asked for faulty blanks. Registering a name again replaces it."""
    _questions[name] = question


@dataclass(frozen=True)
class Tried:
    """What is known of a lot's blanks: how many were tried, and how many of them were faulty, `elsewhere` by records
    that stock doesn't know."""

    lot: Lot
    tried: int
    faulty: int
    elsewhere: int = 0

    @property
    def is_enough(self) -> bool:
        """Whether it is known well enough to be compared."""
        return self.tried >= SOME or self.elsewhere >= SOON

    @property
    def share(self) -> Share | None:
        """The faulty share with its 95 % interval; None if nothing was tried."""
        return wilson(self.faulty, self.tried) if self.tried else None


@dataclass(frozen=True)
class Standing:
    """A lot among its fellows. verdict: None where it was not compared; fellows: how many it was compared with."""

    known: Tried
    verdict: LotVerdict | None = None
    fellows: int = 0

    @property
    def lot(self) -> Lot:
        return self.known.lot

    @property
    def is_worse(self) -> bool:
        return self.verdict is not None and self.verdict.clearly_worse


@dataclass(frozen=True)
class SupplierStanding:
    """All lots of a supplier (None: not known) together."""

    supplier: Supplier | None
    lots: int
    tried: int
    faulty: int

    @property
    def share(self) -> Share:
        return wilson(self.faulty, self.tried)


_BEGUN_LOT = Q(taken__gt=0) | Exists(Inspection.objects.filter(lot=OuterRef("pk")))
#: Items of blanks of which anything was begun or looked over.
BEGUN = Q(kind=ItemKind.BLANK) & Exists(Lot.objects.filter(_BEGUN_LOT, item=OuterRef("pk")))


def family(item: Item) -> list[Lot]:
    """The lots of an item that are one another's fellows, newest first: one query by an index."""
    begun = Lot.objects.filter(_BEGUN_LOT, item=item)
    lots = list(begun.select_related("supplier").order_by("-received_on", "-id")[:MOST_FELLOWS])
    return [lot for lot in lots if lot.received_on >= lots[0].received_on - WINDOW]


def tried(lots: Iterable[Lot]) -> list[Tried]:
    """What is known of the blanks of each lot, in the order given: two queries, and those of the records elsewhere."""
    asked = list(lots)
    pks = [lot.pk for lot in asked]
    if not pks:
        return []
    stands = Movement.objects.filter(
        kind=MovementKind.SPOILED, lot__in=pks, reversed_by__isnull=True, defect__isnull=False
    )
    spoiled = {
        row["lot"]: row
        for row in stands.order_by()
        .values("lot")
        .annotate(blamed=_sum_where(Q(defect__blames_lot=True)), thrown_out=_sum_where(Q(defect__blames_lot=False)))
    }
    went_back = Q(outcome=Outcome.RETURN, found__movement__isnull=True, found__defect__blames_lot=True)
    looks = {
        row["lot"]: row
        for row in Inspection.objects.filter(lot__in=pks)
        .order_by()
        .values("lot")
        .annotate(most=Max("looked_at"), sent_back=Coalesce(Sum("found__quantity", filter=went_back), 0))
    }
    elsewhere: dict[int, int] = {}
    for question in _questions.values():
        for pk, count in question(pks).items():
            elsewhere[pk] = elsewhere.get(pk, 0) + count
    found = []
    for lot in asked:
        own = spoiled.get(lot.pk, {"blamed": 0, "thrown_out": 0})
        look = looks.get(lot.pk, {"most": 0, "sent_back": 0})
        faulty = own["blamed"] + look["sent_back"] + elsewhere.get(lot.pk, 0)
        number = max(lot.taken - own["thrown_out"], look["most"], faulty)
        found.append(Tried(lot, number, faulty, elsewhere.get(lot.pk, 0)))
    return found


def _sum_where(condition: Q) -> Sum:
    return Sum(Case(When(condition, then=-F("change")), default=Value(0), output_field=IntegerField()))


def standings(item: Item) -> list[Standing]:
    """Every lot of the item's family as it stands among its fellows, newest first."""
    known = tried(family(item))
    enough = [one for one in known if one.is_enough]
    if len(enough) < 2:
        return [Standing(one) for one in known]
    verdicts = compare_lots([LotCount(spoiled=one.faulty, cut=one.tried) for one in enough])
    by_lot = {one.lot.pk: verdict for one, verdict in zip(enough, verdicts, strict=True)}
    return [Standing(one, by_lot.get(one.lot.pk), len(enough) - 1 if one.lot.pk in by_lot else 0) for one in known]


def by_supplier(compared: Iterable[Standing]) -> list[SupplierStanding]:
    """The same lots summed up by supplier, by name, those not known last; no query."""
    lots: dict[Supplier | None, list[Tried]] = {}
    for one in compared:
        if one.known.tried:
            lots.setdefault(one.lot.supplier, []).append(one.known)
    order = sorted(lots, key=lambda supplier: (supplier is None, str(supplier)))
    return [
        SupplierStanding(
            supplier,
            lots=len(lots[supplier]),
            tried=sum(one.tried for one in lots[supplier]),
            faulty=sum(one.faulty for one in lots[supplier]),
        )
        for supplier in order
    ]


# What is kept ---------------------------------------------------------------------------------------------------------


def look_again(item: Item) -> None:
    """Work out anew which lots of an item are clearly worse; inside the transaction that gives rise to it."""
    if item.kind != ItemKind.BLANK:
        return
    worse = {one.lot.pk: found for one in standings(item) if (found := kept(one)) is not None}
    for row in ClearlyWorse.objects.filter(lot__item=item):
        if row.lot_id not in worse:
            row.delete()
        elif row.figures == worse[row.lot_id].figures:
            del worse[row.lot_id]  # nothing to write
    for row in worse.values():
        row.save()


def after_taking(item: Item, *, found_faulty: bool) -> None:
    """Look again where it may matter now: something faulty was found or undone, or a lot stands as clearly worse.

    A good one moves the shares of its lot and of its fellows by too little to wait for: the hourly job sees to that.
    """
    if found_faulty or ClearlyWorse.objects.filter(lot__item=item).exists():
        look_again(item)


def look_at_all_again() -> None:
    """The same of every item of blanks: where a list changed that says what is to blame."""
    for item in Item.objects.filter(kind=ItemKind.BLANK):
        look_again(item)


def compare_every_hour() -> str | None:
    """The recurring job: two presses at the same moment, on a database where they don't wait for each other, may each
    have missed what the other brought."""
    with transaction.atomic():
        look_at_all_again()
    return None


def kept(one: Standing) -> ClearlyWorse | None:
    """What is kept of a lot's standing: None unless it is clearly worse."""
    if one.verdict is None or not one.is_worse:
        return None
    return ClearlyWorse(
        lot=one.lot,
        worked_at=clock.now(),
        tried=one.known.tried,
        faulty=one.known.faulty,
        fellows=one.fellows,
        fellows_tried=one.verdict.fellows.cut,
        fellows_faulty=one.verdict.fellows.spoiled,
        chance=min(1.0, one.verdict.p_adjusted),
        comparisons=one.verdict.comparisons,
    )


def faults() -> list[str]:
    """Where what is kept of lots that are clearly worse is not what the comparison says now, a sentence each."""
    was_kept = {row.lot_id: row.figures for row in ClearlyWorse.objects.all()}
    found = []
    for item in Item.objects.filter(kind=ItemKind.BLANK).order_by("id"):
        for one in standings(item):
            row, was = kept(one), was_kept.pop(one.lot.pk, None)
            now = row.figures if row is not None else None
            if now != was:
                found.append(f"Lot {one.lot.code} ({item}, id {one.lot.pk}): kept as {was}, compared it is {now}.")
    found += [f"Lot {pk}: kept as clearly worse, but not compared any more." for pk in was_kept]
    return found
