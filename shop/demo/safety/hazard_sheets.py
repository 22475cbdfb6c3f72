"""The demo room's own sheets: some approved and read, one in its second version, one being written."""

from shop.demo.hands import Hands
from shop.people.models import Person
from shop.safety import actions, facts, queries
from shop.safety.facts import Fact
from shop.safety.models import HazardSheet

#: Approved on the first day, as they came.
AT_ONCE = ("fire", "chip", "propan-2-ol", "nitrogen")
#: On which day all have read them, and how long before the end there is a new version of one.
READ_ON, RENEWED_BEFORE = 3, 20
#: What this room put into its second version of the sheet on chip, part by part.
LOCAL = "this room, walked by Caspar and Ottilie"
OURS = {
    "before": Fact("The bucket stands to the left of the door, full.", LOCAL),
    "if-fire": Fact("Out by the yard, not by the stairs: they draw the smoke.", LOCAL),
}


class Sheets:
    def __init__(self, hands: Hands, *, owner: Person, engineer: Person, assistant: Person) -> None:
        self.hands, self.owner, self.engineer, self.assistant = hands, owner, engineer, assistant

    def open(self) -> None:
        """The owner approves what the room works with; the engineer reads it at once."""
        for slug in AT_ONCE:
            self._approve(slug)
        self._read(self.engineer, AT_ONCE)

    def evening(self, done: int, days: int) -> None:
        """What happens to them on a day, `done` being how many of all `days` are over."""
        if done == READ_ON:
            self._read(self.owner, AT_ONCE)
            self._read(self.assistant, AT_ONCE)
        if done == days - RENEWED_BEFORE:
            self.renew()

    def renew(self) -> None:
        """The sheet on chip gets what is peculiar to this room; the assistant has not read it yet. Another is begun."""
        sheet = HazardSheet.objects.get(slug="chip")
        version = queries.version_in_force(sheet)
        assert version is not None
        parts = facts.of_stored(version.parts)
        ours = {part: [*parts[part], fact] for part, fact in OURS.items()}
        self._write(sheet, parts | ours, "Where the bucket stands; out by the yard")
        self._approve("chip")
        self._read(self.engineer, ("chip",))
        self._read(self.owner, ("chip",))
        solvent = HazardSheet.objects.get(slug="solvent")
        begun = facts.of_stored(solvent.draft)
        begun["while"] = [*begun["while"], Fact("The can stands under the bench, its lid down.", LOCAL)]
        self._write(solvent, begun, "With the place of the can")

    def _write(self, sheet: HazardSheet, parts: facts.Facts, note: str) -> None:
        now = {"version": sheet.version, "title": sheet.title, "note": note, "parts": parts}
        self.hands.do(actions.write_sheet, by=self.engineer, sheet=sheet, **now)

    def _approve(self, slug: str) -> None:
        sheet = HazardSheet.objects.get(slug=slug)
        self.hands.do(actions.approve_sheet, by=self.owner, sheet=sheet, version=sheet.version)

    def _read(self, person: Person, slugs: tuple[str, ...]) -> None:
        for version in queries.still_to_read(person).filter(sheet__slug__in=slugs):
            self.hands.do(actions.confirm_sheet_read, by=person, version=version)
