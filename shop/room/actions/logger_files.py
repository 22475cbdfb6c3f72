"""Taking in what a logger wrote, from its file."""

from collections.abc import Collection

from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.room import logger_files
from shop.room.intake import Revoked, take_in
from shop.room.logger_files import Chosen
from shop.room.models import Instrument
from shop.room.wording import readings_words
from shop.wording import grouped

#: Rows that are refused, told before the rest is taken in.
TOLD = 5


@action(roles=HANDS)
def take_in_file(
    *, by: Person, instrument: Instrument, ticket: str, chosen: Chosen, sure: Collection[str] = ()
) -> Instrument:
    """Keep the readings of a logger's file, each once; the others are refused with their reasons.

    What would come of it is asked about first (Doubtful). Refused where nothing in it would be kept.
    """
    table = logger_files.read_table(logger_files.kept(ticket))
    sent, lines = logger_files.readings_of(table, chosen)
    if not sent:
        raise Refused("Those columns hold no readings. Choose others.")
    try:
        outcomes = take_in(instrument, sent, by=by, back=None, write=False)
        counts = {what: sum(one.what == what for one in outcomes) for what in ("kept", "known", "refused")}
        faults = list(
            dict.fromkeys(  # a row with a bad moment is told once, however many values stand in it
                f"Row {line}: {one.reason}" for line, one in zip(lines, outcomes, strict=True) if one.what == "refused"
            )
        )
        more = [f"And {grouped(len(faults) - TOLD)} more."] if len(faults) > TOLD else []
        told = " ".join([*faults[:TOLD], *more])
        if not counts["kept"]:
            if not counts["refused"]:
                raise Refused("All of it is kept already.")
            raise Refused(f"None of it can be kept. {told}")
        known = f", {grouped(counts['known'])} are kept already" if counts["known"] else ""
        lost = f", {grouped(counts['refused'])} would be refused" if counts["refused"] else ""
        ask_unless_sure(
            [
                Doubt(
                    key=f"file:{counts['kept']}:{counts['known']}:{counts['refused']}",
                    field="",
                    sentence=f"{readings_words(counts['kept'])} would be kept{known}{lost}. {told}".strip(),
                    confirm="Take them in",
                )
            ],
            sure,
        )
        take_in(instrument, sent, by=by, back=None)
    except Revoked as gone:
        raise Refused("Its token was revoked: nothing is taken in for it any more.") from gone
    return instrument
