"""Writing a note, putting it right, reading it."""

from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, transaction

from shop.log import actions, queries, things
from shop.log.models import Addressee, Crowd, Note, NoteKind, NoteLink, NoteRead
from shop.press.models import Line
from shop.refusal import NotAllowed, Refused, TokenTrouble
from tests.log.makers import read, write
from tests.makers import at, make_person, moment
from tests.stock.makers import make_item, make_lot


def lot_of(by):
    return make_lot(by, make_item(by))


def unread(person):
    return [one.text for one in queries.unread(person)]


# Writing --------------------------------------------------------------------------------------------------------------


def test_a_note_keeps_who_when_whom_and_what(engineer, assistant):
    lot = lot_of(engineer)
    with at("2025-03-04 18:10"):
        note = write(
            engineer,
            "Blue smear.\n\n\n  On the   last three. ",
            kind="handover",
            people=[assistant],
            about=[f"lot:{lot.pk}"],
        )
    assert note.text == "Blue smear.\n\nOn the last three."
    assert (note.by, note.kind, f"{note.at:%H:%M}") == (engineer, NoteKind.HANDOVER, "18:10")
    assert [str(one) for one in note.addressees.all()] == ["Everybody who works here", assistant.name]
    (link,) = note.links.all()
    assert (link.kind, link.key, link.label) == ("lot", str(lot.pk), f"{lot.code}, {lot.item.name}")
    assert link.thing.address == lot.get_absolute_url()
    assert Line.objects.latest("number").act == "log.write_note"


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"text": " \n "}, "text"),
        ({"text": "x" * 2001}, "text"),
        ({"kind": "shout"}, "kind"),
        ({"crowds": ["strangers"]}, "whom"),
        ({"kind": "handover", "crowds": []}, "whom"),
        ({"about": ["lot:99"]}, "about"),
        ({"about": ["ghost:1"]}, "about"),
        ({"about": ["lot:one"]}, "about"),
    ],
)
def test_what_is_refused(engineer, typed, field):
    with pytest.raises(Refused) as no:
        write(engineer, **{"text": "Quiet."} | typed)
    assert no.value.field == field
    assert not Note.objects.exists()


def test_a_note_for_somebody_who_does_not_work_here_is_refused(engineer, visitor):
    gone = make_person("gone", "Tam Gone", "engineer", is_active=False)
    for somebody in (visitor, gone):
        with pytest.raises(Refused, match="Only those who work here"):
            write(engineer, people=[somebody])


def test_a_visitor_writes_nothing(visitor):
    with pytest.raises(NotAllowed):
        write(visitor)


def test_one_press_is_one_note(engineer):
    token = uuid4()
    first = actions.write_note(by=engineer, once=token, text="Quiet.")
    assert actions.write_note(by=engineer, once=token, text="Quiet.") == first
    with pytest.raises(TokenTrouble):
        actions.write_note(by=engineer, once=token, text="Loud.")
    assert Note.objects.count() == 1


def test_nothing_of_it_is_changed_or_removed(engineer, assistant):
    note = write(engineer, about=[things.ref_of(lot_of(engineer))])
    read(assistant, note)
    for model in (Note, Addressee, NoteLink, NoteRead):
        with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {model._meta.db_table}")


# Whom it is for -------------------------------------------------------------------------------------------------------


def test_those_it_is_for_have_it_unread(owner, engineer, assistant, visitor):
    write(engineer, "all")
    write(engineer, "assistants", crowds=[Crowd.ASSISTANT])
    write(engineer, "owners", crowds=[Crowd.OWNER])
    write(engineer, "by name", crowds=[], people=[assistant])
    write(engineer, "nobody", crowds=[])
    assert unread(assistant) == ["all", "assistants", "by name"]
    assert unread(owner) == ["all", "owners"]
    assert unread(engineer) == unread(visitor) == []


def test_handovers_come_first_then_the_oldest(engineer, assistant):
    assistant.made_at = moment("2025-03-01 09:00")
    for hour, text, kind in (("09", "first", "note"), ("10", "second", "note"), ("11", "over", "handover")):
        with at(f"2025-03-04 {hour}:00"):
            write(engineer, text, kind=kind)
    assert unread(assistant) == ["over", "first", "second"]


def test_who_came_later_is_not_shown_what_was_written_before(engineer, room_row):
    with at("2025-03-04 09:00"):
        write(engineer, "before")
    with at("2025-03-04 10:00"):
        late = make_person("late", "Nim Late", "assistant")
    with at("2025-03-04 11:00"):
        write(engineer, "after")
    assert unread(late) == ["after"]


def test_it_is_unread_until_it_is_read(engineer, assistant, owner):
    note = write(engineer, "all")
    first = read(assistant, note)
    assert read(assistant, note) == first
    assert unread(assistant) == []
    assert unread(owner) == ["all"]
    told = queries.readers(queries.notes().get(pk=note.pk))
    assert [one.person for one in told.read] == [assistant]
    assert told.waiting == [owner]


def test_a_visitor_reads_nothing(engineer, visitor):
    with pytest.raises(NotAllowed):
        read(visitor, write(engineer))


# Putting right --------------------------------------------------------------------------------------------------------


def correct(by, note, text, **other):
    return actions.correct_note(by=by, once=uuid4(), note=note, text=text, **{"crowds": [Crowd.EVERYBODY]} | other)


def test_a_correction_takes_its_place_and_is_shown_again(engineer, assistant):
    lot = lot_of(engineer)
    note = write(engineer, "Lot is fine.", about=[things.ref_of(lot)])
    read(assistant, note)
    fresh = correct(engineer, note, "Lot is dull.", about=[things.ref_of(lot)])
    assert (fresh.corrects, note.text) == (note, "Lot is fine.")
    assert unread(assistant) == ["Lot is dull."]
    assert [one.is_anew for one in queries.unread(assistant)] == [True]
    assert [one.text for one in queries.beside("lot", str(lot.pk))] == ["Lot is dull."]


def test_only_its_writer_puts_it_right_and_once(engineer, owner):
    note = write(engineer)
    with pytest.raises(NotAllowed):
        correct(owner, note, "Mine.")
    fresh = correct(engineer, note, "Better.")
    with pytest.raises(Refused, match="already"):
        correct(engineer, note, "Best.")
    assert correct(engineer, fresh, "Best.").corrects == fresh


def test_a_second_account_of_the_same_human_may(engineer, room_row):
    other = make_person("maarsk2", "Edvin Maarsk", "assistant", same_as=engineer)
    assert correct(other, write(engineer), "Better.").by == other


# Things ---------------------------------------------------------------------------------------------------------------


def test_every_sort_has_a_page_and_is_found_in_one_query(engineer, django_assert_num_queries):
    lot = make_lot(engineer, make_item(engineer, "Fourteen inch blank"), code="KF-2407")
    make_lot(engineer, lot.item, code="KF-24071")
    with django_assert_num_queries(1):
        found = things.find("kf-2407")
    assert [one.label for one in found] == ["KF-2407, Fourteen inch blank", "KF-24071, Fourteen inch blank"]
    assert things.meant(found) == found[0]
    assert found[0].words == "Lot KF-2407, Fourteen inch blank"
    assert things.meant(things.find("KF-24")) is None
    assert things.find("  ") == []
    assert [sort.name for sort in things.sorts() if not things.address_of(sort.name, "1")] == []


def test_named_things_come_in_their_order_by_one_query(engineer, django_assert_num_queries):
    lot = lot_of(engineer)
    other = make_lot(engineer, lot.item)
    refs = [things.ref_of(other), things.ref_of(lot.item), "lot:0", things.ref_of(lot)]
    with django_assert_num_queries(1):
        found = things.named(refs)
    assert [one.ref for one in found] == [refs[0], refs[1], refs[3]]
