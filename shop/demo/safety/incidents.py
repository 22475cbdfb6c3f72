"""What happened in the demo room, and nearly did: two near misses, one told of without a name, and a burn."""

from datetime import timedelta
from typing import Any

from shop import clock
from shop.demo.hands import Hands
from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import HazardSheet, Incident, Substance

#: How long before the end each is told of.
BOTTLE_BEFORE, BURN_BEFORE, TRAP_BEFORE = 210, 64, 6


class Incidents:
    def __init__(self, hands: Hands, *, owner: Person, engineer: Person, assistant: Person) -> None:
        self.hands, self.owner, self.engineer, self.assistant = hands, owner, engineer, assistant

    def evening(self, done: int, days: int) -> None:
        """What is told of on a day, `done` being how many of all `days` are over."""
        left = days - done
        if left == BOTTLE_BEFORE:
            told = self._tell(
                self.assistant,
                kind="spill",
                near_miss=True,
                what="The wash bottle stood on the edge of the bench and was caught by a sleeve. It was shut.",
                substance=Substance.objects.filter(slug="acetone").first(),
            )
            self._note(told, "Bottles stand in the tray at the back of the bench from now on.", closes=True)
        elif left == BURN_BEFORE:
            told = self._tell(
                self.engineer,
                kind="burn",
                what="Touched the tip while wiping the head; the heating current was still on.",
                hurt="One fingertip, a small blister",
                done="Ten minutes under cold water.",
            )
            sheet = HazardSheet.objects.filter(slug="hot-tip").first()
            self._note(
                told,
                "The current is switched off, and the meter looked at, before a hand goes near the head.",
                sheet=sheet,
            )
            tag = actions.FollowUp("Hang a tag on the heater switch", clock.today() + timedelta(days=70))
            self._note(told, "A tag at the switch would have told that it was on.", follow_up=tag)
        elif left == TRAP_BEFORE:
            self._tell(
                self.assistant,
                kind="fire",
                near_miss=True,
                what="A lamp with a hot bulb was left leaning beside the open chip trap over lunch.",
                done="Taken away.",
                substance=Substance.objects.filter(slug="cut-chip").first(),
                signed=False,
            )

    def _tell(self, by: Person, **told: Any) -> Incident:
        report: Incident = self.hands.do(actions.report_incident, by=by, at=clock.now() - timedelta(hours=3), **told)
        return report

    def _note(self, incident: Incident, text: str, **more: Any) -> None:
        self.hands.do(actions.note_incident, by=self.owner, incident=incident, text=text, **more)
