"""What the demo room knows of its edges beyond their hours: limits, costs, noise, photographs; and of its masters.

Only the last months of it, so that the room is soon built. Everything is of its own, so that the story beside it stays
as it is.
"""

import io
from datetime import date, timedelta
from random import Random

from django.core.files.uploadedfile import SimpleUploadedFile

from shop import clock
from shop.alongside import own_row
from shop.cutting import actions as cutting
from shop.cutting.actions.plating import Said
from shop.cutting.models import Away, CuttingLimits, EndReason, Parcel, Side, Stylus
from shop.cutting.queries import masters_of, waiting_masters
from shop.demo import cast
from shop.demo.hands import Hands
from shop.duties import photos
from shop.people.models import Person

#: Since so many days what becomes of masters is kept, and worn styli are re-lapped.
KEPT_DAYS = 120
#: The masters of so many last days were not sent yet.
STAYS_DAYS = 3
#: A re-lapping takes so many days, and costs so much.
LAPPING_DAYS = 18
#: The silent groove of a fresh edge, and how much noisier it grows by the hour, in dB; about so much by chance.
FRESH_DB, WEAR_DB, CHANCE_DB = -64.0, 0.62, 0.7


class Edges:
    def __init__(self, hands: Hands, today: date, *, owner: Person, engineer: Person, assistant: Person) -> None:
        self.hands, self.today = hands, today
        self.owner, self.engineer, self.assistant = owner, engineer, assistant
        self.rng = Random(21)
        self.keeps_masters = False

    def open(self) -> None:
        """The shop's own limits and costs; what becomes of masters is not kept yet."""
        self._limits(plating_days=None)
        self.hands.do(cutting.change_cost_figures, by=self.owner, version=1, **cast.COSTS)

    def _limits(self, plating_days: int | None) -> None:
        now = own_row(CuttingLimits)
        self.hands.do(
            cutting.change_limits,
            by=self.owner,
            version=now.version,
            care_below=now.care_below,
            hold_below=now.hold_below,
            days_ahead=now.days_ahead,
            noise_db=cast.NOISE_LIMIT_DB,
            plating_days=plating_days,
        )

    def ends(self, stylus: Stylus, number: int) -> bool:
        """Whether a worn stylus goes to be re-lapped, and so is not retired: one in two, in the last months."""
        if number % 2 or clock.today() < self.today - timedelta(days=KEPT_DAYS):
            return False
        due = clock.today() + timedelta(days=LAPPING_DAYS)
        self.hands.do(
            cutting.send_stylus_away,
            by=self.engineer,
            stylus=stylus,
            sent_to=cast.LAPPER,
            reason=EndReason.WORN,
            back_due=due,
        )
        return True

    def drawer(self) -> Stylus | None:
        """A re-lapped stylus that waits in the drawer."""
        waiting = Stylus.objects.filter(times_away__came_back="fresh", times_away__made=None, retired_at=None)
        return waiting.order_by("id").first()

    def evening(self) -> None:
        """Mondays and Thursdays the masters go, and what was said of earlier ones is written down."""
        day = clock.today()
        before = (self.today - day).days
        if before > KEPT_DAYS:
            return
        if not self.keeps_masters:
            self.keeps_masters = True
            self._limits(plating_days=3)
        for away in Away.objects.filter(back_at=None, back_due__lte=day).select_related("stylus"):
            self.hands.do(
                cutting.take_stylus_back,
                by=self.assistant,
                stylus=away.stylus,
                came_back="fresh",
                price=cast.LAPPING_PRICE,
            )
        if day.weekday() in (0, 3):
            self._reports()
            if before >= STAYS_DAYS:
                self._send()

    def _send(self) -> None:
        waiting = list(waiting_masters())
        if waiting:
            self.hands.do(
                cutting.send_masters,
                by=self.assistant,
                masters=waiting,
                sent_to=cast.PLATER,
                sent_with=self.rng.choice(cast.CARRIERS),
            )

    def _reports(self) -> None:
        sent = Parcel.objects.filter(masters__report="", sent_at__lt=clock.now() - timedelta(days=6)).distinct()
        for parcel in sent:
            self.hands.do(
                cutting.report_masters,
                by=self.engineer,
                parcel=parcel,
                said=[Said(master, *self._word()) for master in masters_of(parcel)],
            )

    def _word(self) -> tuple[str, str]:
        drawn = self.rng.random()
        if drawn < 0.93:
            return "fine", ""
        # none refused: those sides would be cut again, in between what the story has planned for its styli
        return (
            "noisy",
            "ticks in the last third" if drawn < 0.985 else "a scratch in the run-out, plated anyway",
        )

    def this_morning(self, *styli: Stylus | None) -> None:
        """Of the styli that matter today: the noise of their last sides, and how their tips look."""
        known = [stylus for stylus in styli if stylus is not None]
        for stylus in known:
            cut_s = 0
            sides = list(Side.objects.filter(life__stylus=stylus, withdrawal=None).order_by("at", "id"))
            for place, side in enumerate(sides):
                cut_s += side.cut_s
                if place % 3 == 0:
                    level = FRESH_DB + WEAR_DB * cut_s / 3600 + self.rng.gauss(0, CHANCE_DB)
                    self.hands.do(
                        cutting.add_noise_level, by=self.engineer, stylus=stylus, side=side, level_db=round(level, 1)
                    )
        if known:
            self.hands.do(
                cutting.add_tip_photo,
                by=self.engineer,
                stylus=known[0],
                photo=photos.keep(SimpleUploadedFile("tip.jpg", tip_drawing(), "image/jpeg")),
                shows="left flank, 200 times",
            )


def tip_drawing() -> bytes:
    """A drawing that stands for a photograph of a tip, as JPEG: a bright wedge on a dark ground."""
    from PIL import Image, ImageDraw, ImageFilter

    wide, high = 960, 720
    image = Image.new("RGB", (wide, high), "#14100f")
    draw = ImageDraw.Draw(image)
    draw.polygon([(180, 0), (780, 0), (492, 560), (470, 560)], fill="#8c2f3a")
    draw.polygon([(300, 0), (480, 0), (481, 560), (470, 560)], fill="#c9606a")
    draw.polygon([(470, 560), (492, 560), (481, 586)], fill="#e9a9a4")
    draw.line([(468, 548), (480, 572)], fill="#f4d9d3", width=3)
    drawn = io.BytesIO()
    image.filter(ImageFilter.GaussianBlur(2.2)).save(drawn, "JPEG", quality=88)
    return drawn.getvalue()
