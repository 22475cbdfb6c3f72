"""Reports: told by anybody, signed or not, never changed; what came of them; their numbers, paper and list."""

import csv
import io
import json
from datetime import date
from uuid import uuid4

import pytest
from django.apps import apps
from django.contrib.sessions.models import Session
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from pypdf import PdfReader

from shop import clock
from shop.concern import Grade
from shop.duties import queries as care
from shop.duties.models import Duty
from shop.press.models import Line, Press
from shop.refusal import Doubtful, NotAllowed, Refused, TokenTrouble
from shop.safety import actions, queries
from shop.safety.actions import FollowUp
from shop.safety.concerns import concerns
from shop.safety.models import Incident, IncidentNote, Place
from tests.duties.makers import again, do
from tests.makers import moment
from tests.safety.reports import make_hazard_sheet, note, report
from tests.safety.sheets import make_substance


@pytest.fixture(autouse=True)
def monday(room_row, at):
    with at("2025-03-03 09:10"):
        yield


# Telling of it --------------------------------------------------------------------------------------------------------


def test_it_is_kept_as_it_was_told(assistant):
    place, wash = Place.objects.create(name="Bench"), make_substance()
    told = report(assistant, hurt="Asta, a burnt finger", done="Cold water", place=place, substance=wash)
    assert (told.by, told.kind, told.near_miss, told.hurt) == (assistant, "spill", False, "Asta, a burnt finger")
    assert (told.place, told.substance, told.at, told.told_at) == (place, wash, clock.now(), clock.now())
    assert str(told) == f"Incident {told.pk}"
    assert str(report(assistant, near_miss=True)).startswith("Near miss ")


def test_everybody_who_is_signed_in_may_tell(owner, engineer, assistant, visitor):
    for person in (owner, engineer, assistant, visitor):
        assert report(person).by == person


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"kind": "flood"}, "kind", "Choose what sort"),
        ({"what": " "}, "what", "Write something"),
        ({"what": "x" * 2001}, "what", "2000 characters"),
        ({"near_miss": True, "hurt": "Asta"}, "hurt", "If somebody was hurt, it happened"),
        ({"at": moment("2025-03-03 09:11+00:00")}, "at", "in the future"),
        ({"at": moment("1969-03-03 09:11+00:00")}, "at", "before 1970"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(assistant, typed, field, sentence):
    with pytest.raises(Refused) as no:
        report(assistant, **typed)
    assert (no.value.field, sentence in no.value.sentence) == (field, True)
    assert not Incident.objects.exists()


def test_a_report_and_its_notes_are_never_changed_or_removed(engineer):
    told = report(engineer)
    noted = note(engineer, told)
    for row in (told, noted):
        rows = type(row).objects.filter(pk=row.pk)
        for harm in (lambda rows=rows: rows.update(at=clock.now()), lambda rows=rows: rows._raw_delete(rows.db)):
            with pytest.raises(DatabaseError, match="never changed or removed"), transaction.atomic():
                harm()
    assert Incident.objects.count() == IncidentNote.objects.count() == 1


# Without a name -------------------------------------------------------------------------------------------------------


def rows_that_name(person):
    """Every row of every table with this person's key in a column that refers to people."""
    found = {}
    for model in apps.get_models():
        for field in model._meta.concrete_fields:
            if field.is_relation and field.related_model is type(person):
                found[f"{model._meta.label}.{field.name}"] = model._default_manager.filter(
                    **{field.name: person}
                ).count()
    return found


def test_a_report_without_a_name_is_by_nobody_in_every_table(assistant):
    before = rows_that_name(assistant)
    told = report(assistant, signed=False)
    assert told.by is None
    assert rows_that_name(assistant) == before
    press, line = Press.objects.get(), Line.objects.get()
    assert (press.by, press.result_pk) == (None, str(told.pk))
    assert (line.by, line.who, line.act) == (None, "", "safety.report_incident")
    assert assistant.name not in line.said
    assert assistant.sign_in not in line.said


def test_nothing_in_the_database_tells_who_pressed_on_the_page(assistant, client_of, caplog):
    client = client_of(assistant)
    session = Session.objects.get().session_data
    answer = client.post(reverse("safety:report-incident"), typed(signed="no"))
    assert (answer.status_code, answer.url) == (302, reverse("safety:incidents"))
    assert "The report is kept, without a name." in said(client.get(answer.url))
    told = Incident.objects.get()
    assert told.by is None
    # the sentence was said once, and is gone from the session again; it named no report
    kept = Session.objects.get()
    assert str(told.pk) not in json.dumps({k: v for k, v in kept.get_decoded().items() if not k.startswith("_auth")})
    assert kept.get_decoded() == type(kept)(session_data=session).get_decoded()
    assert assistant.name not in caplog.text
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            if table.startswith(("people_", "django_")):
                continue
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            for row in cursor.fetchall():
                assert assistant.name not in str(row), table


def test_the_same_press_without_a_name_gives_the_first_report(assistant, engineer):
    token = uuid4()
    facts = {"kind": "spill", "what": "A bottle fell.", "signed": False}
    first = actions.report_incident(by=assistant, once=token, **facts)
    assert actions.report_incident(by=assistant, once=token, **facts) == first
    with pytest.raises(TokenTrouble):
        actions.report_incident(by=assistant, once=token, **facts | {"what": "Another."})
    with pytest.raises(TokenTrouble):
        actions.report_incident(by=engineer, once=token, **facts | {"signed": True})
    assert Incident.objects.count() == 1


def test_somebody_shut_out_tells_nothing_without_a_name_either(assistant):
    assistant.is_active = False
    with pytest.raises(NotAllowed):
        report(assistant, signed=False)


# What came of it ------------------------------------------------------------------------------------------------------


def test_a_word_by_anybody_who_works_here(assistant, visitor, engineer):
    told = report(engineer)
    assert note(assistant, told).by == assistant
    with pytest.raises(NotAllowed):
        note(visitor, told)


@pytest.mark.parametrize("more", [{"closes": True}, {"follow_up": FollowUp("Move it", date(2025, 3, 7))}])
def test_what_follows_and_the_end_of_it_are_an_engineers(assistant, more):
    with pytest.raises(NotAllowed, match="lets you add a word"):
        note(assistant, report(assistant), **more)
    assert not IncidentNote.objects.exists()
    assert not Duty.objects.exists()


def test_what_follows_becomes_a_duty_that_is_due_once(engineer, assistant, at):
    told = report(engineer)
    noted = note(engineer, told, follow_up=FollowUp("Move the bottles", date(2025, 3, 7), for_person=assistant))
    duty = again(noted.duty)
    assert (duty.due_on, duty.for_person, duty.rule_words) == (date(2025, 3, 7), assistant, "every day, once")
    assert duty.why == f"It follows from incident {told.pk} of 3 March 2025."
    with at("2025-03-07 10:00"):
        assert care.is_due(duty, clock.now())
        do(assistant, duty)
    with at("2025-04-09 10:00"):
        assert again(duty).due_on is None
        assert [one.pk for one in care.due_now(clock.now()) if care.is_due(one, clock.now())] == []


def test_due_today_is_due_today(engineer):
    duty = note(engineer, report(engineer), follow_up=FollowUp("Now", clock.today(), for_role="engineer")).duty
    assert (again(duty).due_on, again(duty).for_role) == (clock.today(), "engineer")


@pytest.mark.parametrize(
    ("follow_up", "field", "sentence"),
    [
        (FollowUp("Move it", date(2025, 3, 2)), "due_on", "That day is over"),
        (FollowUp("Move it", date(2026, 3, 5)), "due_on", "more than a year away"),
        (FollowUp("", date(2025, 3, 9)), "duty_name", "Write something"),
        (FollowUp("Move it", date(2025, 3, 9), for_role="visitor"), "for_whom", "does no care"),
    ],
)
def test_a_duty_that_cannot_be_is_refused_at_its_box(engineer, follow_up, field, sentence):
    with pytest.raises(Refused) as no:
        note(engineer, report(engineer), follow_up=follow_up)
    assert (no.value.field, sentence in no.value.sentence) == (field, True)
    assert not IncidentNote.objects.exists()


def test_a_duty_of_a_name_that_is_taken_is_refused_and_no_note_is_kept(engineer):
    told = report(engineer)
    note(engineer, told, follow_up=FollowUp("Move it", date(2025, 3, 9)))
    with pytest.raises(Refused, match="a duty of that name already") as no:
        note(engineer, told, follow_up=FollowUp("Move it", date(2025, 3, 9)))
    assert no.value.field == "duty_name"
    assert IncidentNote.objects.count() == Duty.objects.count() == 1


def test_a_lesson_is_found_from_its_sheet_and_the_sheet_from_it(engineer, client_of):
    sheet, other = make_hazard_sheet(), make_hazard_sheet("Hot tip")
    first = note(engineer, report(engineer), "Never leave the trap full.", sheet=sheet)
    second = note(engineer, report(engineer), "Empty it before lunch.", sheet=sheet)
    assert list(queries.lessons_of(sheet)) == [second, first]
    assert queries.lessons_of(sheet)[0].incident == second.incident
    assert not queries.lessons_of(other)
    client = client_of(engineer)
    seen = said(client.get(sheet.get_absolute_url()))
    assert seen.index("Empty it before lunch.") < seen.index("Never leave the trap full.")
    assert first.incident.get_absolute_url() in seen
    assert sheet.get_absolute_url() in said(client.get(first.incident.get_absolute_url()))
    assert "What was learned" not in said(client.get(other.get_absolute_url()))


def test_closing_and_opening_again_are_asked_about_where_something_waits(engineer, assistant):
    told = report(engineer)
    duty = note(engineer, told, follow_up=FollowUp("Move it", date(2025, 3, 9))).duty
    close = {"by": engineer, "incident": told, "text": "Learned.", "closes": True}
    with pytest.raises(Doubtful, match="Still to be done: Move it"):
        actions.note_incident(once=uuid4(), **close)
    do(engineer, again(duty))
    assert actions.note_incident(once=uuid4(), **close).closes
    assert queries.incidents().get().is_closed
    with pytest.raises(Doubtful, match=r"closed on 3 March 2025\. Does this open it again"):
        actions.note_incident(by=assistant, once=uuid4(), incident=told, text="It fell again.")
    note(assistant, told, "It fell again.")
    assert not queries.incidents().get().is_closed


# What worries ---------------------------------------------------------------------------------------------------------


def worries():
    return [one for one in concerns(clock.now()) if one.key.startswith("safety:incident")]


@pytest.mark.parametrize(
    ("told", "grade"),
    [
        ({"kind": "fire"}, Grade.CARE),
        ({"kind": "cut", "hurt": "Asta's thumb"}, Grade.CARE),
        ({"kind": "spill"}, Grade.NOTE),
        ({"kind": "fire", "near_miss": True}, Grade.NOTE),
    ],
)
def test_what_is_open_weighs_by_what_it_was_until_it_is_closed(engineer, told, grade):
    one = report(engineer, **told)
    (worry,) = worries()
    assert (worry.grade, worry.link) == (grade, one.get_absolute_url())
    assert "Nothing is noted on it yet" in worry.reason
    assert "Asta" not in worry.reason + worry.headline
    note(engineer, one)
    assert "Last noted on 3 March 2025." in worries()[0].reason
    note(engineer, one, closes=True)
    assert worries() == []
    note(engineer, one, "Again.")
    assert [worry.key for worry in worries()] == [f"safety:incident:{one.pk}"]


# Numbers --------------------------------------------------------------------------------------------------------------


def test_they_are_counted_by_the_rooms_months_and_by_kind_near_misses_apart(engineer):
    for when, kind, near in (
        ("2025-02-01 00:30", "fire", False),
        ("2025-01-31 23:30", "fire", True),
        ("2025-01-02 08:00", "spill", True),
        ("2024-04-01 00:00", "cut", False),
        ("2024-03-31 23:30", "cut", False),
    ):
        report(engineer, kind=kind, near_miss=near, at=moment(when))
    counted = queries.numbers(clock.now())
    assert len(counted.by_month) == 12
    assert counted.by_month[0] == (date(2024, 4, 1), 1, 0)
    assert counted.by_month[-3:] == [(date(2025, 1, 1), 0, 2), (date(2025, 2, 1), 1, 0), (date(2025, 3, 1), 0, 0)]
    assert counted.by_kind == [("Fire or smouldering", 1, 1), ("Spill or vapour", 0, 1), ("Cut, crush or knock", 1, 0)]
    assert (counted.happened, counted.nearly) == (2, 2)


# Pages ----------------------------------------------------------------------------------------------------------------


def said(answer):
    return " ".join(answer.content.decode().split())


def typed(**other):
    usual = {
        "once": str(uuid4()),
        "near_miss": "no",
        "kind": "fire",
        "what": "The trap smouldered.",
        "hurt": "Asta, a finger",
        "signed": "yes",
    }
    return usual | other


def test_telling_on_the_page_needs_four_boxes_and_keeps_what_was_typed(visitor, client_of):
    client, address = client_of(visitor), reverse("safety:report-incident")
    assert client.get(address).status_code == 200
    refused = client.post(address, {"once": str(uuid4()), "hurt": "Asta"})
    assert refused.status_code == 422
    assert set(refused.context["form"].errors) == {"near_miss", "kind", "what", "signed"}
    assert 'value="Asta"' in said(refused)
    future = client.post(address, typed(at="2031-01-01T10:00"))
    assert future.context["form"].errors["at"]
    assert future.context["form"].more_is_open
    answer = client.post(address, typed())
    assert answer.url == Incident.objects.get().get_absolute_url()


def test_who_was_hurt_and_who_told_is_for_those_who_work_here(assistant, visitor, client_of):
    told = report(assistant, kind="burn", hurt="Asta, a finger")
    for address in (told.get_absolute_url(), reverse("safety:incidents")):
        assert "a finger" not in said(client_of(visitor).get(address))
        assert assistant.name not in said(client_of(visitor).get(address)).partition("<main")[2]
    seen = said(client_of(assistant).get(told.get_absolute_url()))
    assert "Asta, a finger" in seen
    assert f"by {assistant.name}" in seen
    assert "Somebody was; who, and how, is for those who work here." in said(
        client_of(visitor).get(told.get_absolute_url())
    )


@pytest.mark.parametrize(("who", "sees"), [("assistant", True), ("visitor", False)])
def test_the_list_is_carried_away_as_each_may_see_it(who, sees, assistant, visitor, client_of):
    report(assistant, hurt="Asta, a finger", what="=1+1")
    note(assistant, Incident.objects.get(), "Looked at.")
    report(assistant, near_miss=True, signed=False)
    person = {"assistant": assistant, "visitor": visitor}[who]
    for ending in ("csv", "xlsx"):
        answer = client_of(person).get(reverse("carrying:export-list", args=["incidents", ending]))
        assert answer.status_code == 200
        body = b"".join(answer.streaming_content)
        assert body
        if ending == "csv":
            rows = list(csv.reader(io.StringIO(body.decode("utf-8-sig"))))
            assert ("Who was hurt" in rows[0], "By" in rows[0]) == (sees, sees)
            assert ("Asta, a finger" in rows[1], "not signed" in rows[2]) == (sees, sees)
            assert "'=1+1" in rows[1]
            assert "Looked at." in rows[1]


def test_a_report_on_paper(assistant, visitor, engineer, client_of):
    told = report(assistant, kind="burn", hurt="Asta, a finger", what="The tip was hot.")
    note(engineer, told, "Cool it first.", follow_up=FollowUp("Hang a sign", date(2025, 3, 9)), closes=True)
    for person, sees in ((assistant, True), (visitor, False)):
        answer = client_of(person).get(reverse("safety:incident-pdf", args=[told.pk]))
        words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
        assert "The tip was hot." in words
        assert "Cool it first." in words
        assert "Hang a sign" in words
        assert ("a finger" in words) == sees
        assert "replaces neither the suppliers" in " ".join(words.split())


def test_the_list_is_narrowed_and_says_how_each_stands(engineer, client_of, django_assert_max_num_queries):
    client, address = client_of(engineer), reverse("safety:incidents")
    assert "Nothing was reported yet" in said(client.get(address))
    first = report(engineer, kind="fire", what="The trap smouldered.")
    report(engineer, near_miss=True, what="A hose slipped off.")
    note(engineer, first, closes=True)
    with django_assert_max_num_queries(12):
        every = said(client.get(address))
    assert "The trap smouldered." in every
    assert "Near miss: spill or vapour" in every
    assert "In the last twelve months once something happened, and once it nearly did." in every
    for query, there, gone in (
        ("which=nearly", "A hose", "The trap"),
        ("which=happened", "The trap", "A hose"),
        ("state=open", "A hose", "The trap"),
        ("state=closed", "The trap", "A hose"),
        ("kind=fire", "The trap", "A hose"),
    ):
        seen = said(client.get(f"{address}?{query}"))
        assert there in seen
        assert gone not in seen
    assert "No report fits that" in said(client.get(f"{address}?kind=shock"))


def test_noting_on_the_page(engineer, assistant, client_of, django_assert_max_num_queries):
    told, sheet = report(engineer, kind="fire"), make_hazard_sheet()
    address = reverse("safety:note-incident", args=[told.pk])
    assert set(client_of(assistant).get(address).context["form"].fields) == {"once", "sure", "text"}
    client = client_of(engineer)
    half = client.post(address, {"once": str(uuid4()), "text": "Move it.", "duty_name": "Move it"})
    assert half.context["form"].errors == {"due_on": ["Say by when."]}
    other = client.post(address, {"once": str(uuid4()), "text": "Move it.", "due_on": "2025-03-09"})
    assert other.context["form"].errors == {"duty_name": ["Say what is to be done by then."]}
    facts = {
        "once": str(uuid4()),
        "text": "Empty it each evening.",
        "duty_name": "Move the trap",
        "due_on": "2025-03-09",
        "for_whom": f"p{assistant.pk}",
        "sheet": sheet.pk,
        "closes": "on",
    }
    asked = client.post(address, facts)
    assert [doubt.key for doubt in asked.context["form"].doubts] == ["waiting"]
    assert client.post(address, facts | {"sure": "waiting"}).url == told.get_absolute_url()
    assert client.post(address, facts | {"sure": "waiting"}).url == told.get_absolute_url()
    assert IncidentNote.objects.count() == 1
    with django_assert_max_num_queries(12):
        seen = said(client.get(told.get_absolute_url()))
    assert "Move the trap</a>, Asta Pellow. <b>By 9 March 2025</b>" in seen
    assert "A lesson for the sheet" in seen
    assert "closed with this" in seen
