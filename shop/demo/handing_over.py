"""What stands in the demo room's log: the last days' notes, some of them read."""

from datetime import datetime, timedelta

from django.db.models import Model

from shop import clock
from shop.cutting.models import Stylus
from shop.demo.hands import Hands
from shop.duties.models import Duty
from shop.log import actions
from shop.log.models import Crowd, NoteKind
from shop.log.things import ref_of
from shop.people.models import Person
from shop.room.models import Cylinder
from shop.stock.models import Lot


def write_in_the_log(
    hands: Hands,
    eve: datetime,
    *,
    owner: Person,
    engineer: Person,
    assistant: Person,
    stylus: Stylus | None,
    held: list[Lot],
) -> None:
    """Of the last days. eve: this morning, after the shelf was held."""

    def note(
        days: int, hour: int, by: Person, text: str, about: list[Model | None], *, over: bool = False, **whom: object
    ) -> None:
        at = (eve - timedelta(days=days)).astimezone(eve.tzinfo).replace(hour=hour, minute=40) if days else eve
        with clock.moved(at):
            written = hands.do(
                actions.write_note,
                by=by,
                text=text,
                kind=NoteKind.HANDOVER if over else NoteKind.NOTE,
                about=[ref_of(row) for row in about if row is not None],
                **whom,
            )
        if days > 1:
            for other in (owner, engineer, assistant):
                if other != by:
                    with clock.moved(eve - timedelta(days=days - 1)):
                        hands.do(actions.read_note, by=other, note=written)

    trap = Duty.objects.filter(name="Empty the chip trap").first()
    cylinder = Cylinder.objects.filter(connected_at__isnull=False, empty_at=None, returned_on=None).first()
    note(6, 17, assistant, "The trap's lid sits better if the seal is wetted first.", [trap], crowds=[Crowd.EVERYBODY])
    note(
        3,
        18,
        owner,
        "Marrowby rang: their driver comes on Thursdays from now on, not on Tuesdays.",
        [cylinder],
        crowds=[Crowd.EVERYBODY],
    )
    note(
        1,
        18,
        engineer,
        f"Head left warm-idle overnight. {stylus or 'The stylus'} sang a little on the last side: listen to the silent "
        "groove before the first cut.\nThe short hose is on its hook, not in the drawer.",
        [stylus],
        over=True,
        crowds=[Crowd.ASSISTANT, Crowd.OWNER],
    )
    note(
        0,
        7,
        engineer,
        "The store was at 27 degrees at seven. I opened the door and put its lots on hold; ten want looking at before "
        "any is cut.",
        list(held[:2]),
        crowds=[Crowd.EVERYBODY],
    )
