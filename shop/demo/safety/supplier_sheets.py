"""The demo room's suppliers' sheets: of an invented supplier, made here, and taken in as a person would."""

from datetime import date, timedelta

from django.core.files.uploadedfile import SimpleUploadedFile

from shop import clock
from shop.demo.hands import Hands
from shop.demo.safety.plain_pdf import plain_pdf
from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import Substance
from shop.safety.sheet_files import kept
from shop.safety.sheet_files.sections import TITLES
from shop.wording import in_full

SUPPLIER, PHONE = "Marrowby Solvents (invented)", "000 555 0142"
INVENTED = "An invented sheet of an invented supplier, for the demo room. Not for use with any real substance."

#: By the substance's slug: its H and P statements and pictograms, as a sheet would give them.
SAYS = {
    "acetone": (["H225", "H319", "H336", "EUH066"], ["P210", "P233", "P305+P351+P338"], ["GHS02", "GHS07"]),
    "propan-2-ol": (["H225", "H319", "H336"], ["P210", "P233", "P305+P351+P338"], ["GHS02", "GHS07"]),
}
#: Taken in on the first day, revised so many days before it; and so long before the end acetone's new one comes.
AT_ONCE = {"acetone": 1170, "propan-2-ol": 760}
RENEWED_BEFORE = 150


def pages(substance: str, revised: date, codes: tuple[list[str], list[str], list[str]]) -> list[list[str]]:
    """The lines of an invented sheet: section 2 says something, the others say that they say nothing."""
    says_h, says_p, pictograms = codes
    made: list[list[str]] = [[INVENTED, f"{substance}    Revision date: {revised.isoformat()}", ""]]
    for number, title in TITLES.items():
        if number in (4, 8, 11, 14):
            made.append([INVENTED, ""])
        made[-1] += [f"# SECTION {number}: {title}"]
        if number == 1:
            made[-1] += [f"{substance}, from {SUPPLIER}", f"Emergency number: {PHONE}"]
        elif number == 2:
            made[-1] += ["Signal word: Danger", ", ".join(pictograms), ", ".join(says_h), ", ".join(says_p)]
        elif number == 16:
            made[-1] += [f"Revised on {in_full(revised)}."]
        else:
            made[-1] += ["A supplier's own sheet says here what is to be known."]
        made[-1] += [""]
    return made


class SupplierSheets:
    def __init__(self, hands: Hands, *, engineer: Person) -> None:
        self.hands, self.engineer = hands, engineer

    def open(self) -> None:
        for slug, days in AT_ONCE.items():
            self._take_in(slug, clock.today() - timedelta(days=days))

    def evening(self, done: int, days: int) -> None:
        """What comes on a day, `done` being how many of all `days` are over."""
        if done == days - RENEWED_BEFORE:
            self._take_in("acetone", clock.today() - timedelta(days=40))

    def _take_in(self, slug: str, revised: date) -> None:
        substance = Substance.objects.filter(slug=slug).first()
        if substance is None:
            return
        codes = SAYS[slug]
        file = plain_pdf(pages(substance.name, revised, codes))
        sheet = kept.keep(SimpleUploadedFile(f"{slug}-{revised:%Y}.pdf", file, "application/pdf"))
        self.hands.do(
            actions.add_supplier_sheet,
            by=self.engineer,
            substance=substance,
            sheet=sheet,
            revised_on=revised,
            supplier_name=SUPPLIER,
            supplier_phone=PHONE,
            says_signal="Danger",
            says_h=codes[0],
            says_p=codes[1],
            says_pictograms=codes[2],
        )
