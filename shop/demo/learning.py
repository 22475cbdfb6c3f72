"""The demo room's assistant in the second week of the starter programme, beside the engineer."""

from datetime import date, timedelta

from shop.demo.hands import Hands
from shop.people.models import Person
from shop.safety import actions as safety
from shop.safety import queries as safety_queries
from shop.safety.models import HazardSheet
from shop.training import actions
from shop.training.models import How, Programme, Step

#: Approved for the programme, and read in its first week.
SHEETS = ("hot-tip", "moving-parts")
#: What was signed in the first week, by the day counted from its Monday: steps by their place in the programme.
SIGNED = {0: (10, 110), 2: (70,), 3: (80,), 4: (150,)}
#: What was answered, all of it right, and what with a wrong one among it, on the last working day.
ANSWERED, MISSED = 60, 90


class Learning:
    def __init__(self, hands: Hands, today: date, *, owner: Person, engineer: Person, assistant: Person) -> None:
        self.hands, self.owner, self.engineer, self.assistant = hands, owner, engineer, assistant
        self.first = today - timedelta(days=today.weekday() + 7)
        self.programme: Programme | None = None
        before = today - timedelta(days=1)
        self.last = before - timedelta(days=max(0, before.weekday() - 4))

    def evening(self, day: date) -> None:
        """What happened of it on that day."""
        if day == self.first:
            self._begin()
        if self.programme is None:  # a story that is shorter than that
            return
        for place in SIGNED.get((day - self.first).days, ()):
            self._sign(place, day)
        if day == self.first + timedelta(days=1):
            self._answer(ANSWERED)
        if day == self.last:
            self._answer(MISSED, wrong=True)

    def _begin(self) -> None:
        for slug in SHEETS:
            sheet = HazardSheet.objects.get(slug=slug)
            self.hands.do(safety.approve_sheet, by=self.owner, sheet=sheet, version=sheet.version)
        for version in safety_queries.still_to_read(self.assistant).filter(sheet__slug__in=SHEETS):
            self.hands.do(safety.confirm_sheet_read, by=self.assistant, version=version)
        self.programme = Programme.objects.order_by("pk")[0]
        about = {"programme": self.programme, "person": self.assistant, "mentor": self.engineer}
        self.hands.do(actions.enrol, by=self.owner, **about)

    def _step(self, place: int) -> Step:
        return Step.objects.get(programme=self.programme, order=place)

    def _sign(self, place: int, day: date) -> None:
        step = self._step(place)
        about = {"step": step, "edition": step.edition, "person": self.assistant, "signed_in": self.assistant}
        self.hands.do(actions.sign_off, by=self.engineer, on=day, how=How.CODE, **about)

    def _answer(self, place: int, *, wrong: bool = False) -> None:
        """All of a step's questions; with `wrong` the last of them is missed, and comes round the day after."""
        questions = list(self._step(place).questions.filter(is_active=True))
        for question in questions:
            missed = wrong and question == questions[-1]
            chosen = (question.right + 1) % len(question.choices) if missed else question.right
            about = {"question": question, "edition": question.edition, "chosen": chosen}
            self.hands.do(actions.answer_question, by=self.assistant, **about)
