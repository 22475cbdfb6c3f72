"""Acts, and who may do them alone."""

from datetime import timedelta
from io import BytesIO
from uuid import uuid4

import pypdf
import pytest
from django.urls import reverse

from shop import clock
from shop.people import authority
from shop.people.starter import load_starter
from shop.refusal import Changed, NotAllowed, Refused
from shop.room import actions as room
from shop.topic import together
from shop.training import actions, queries
from shop.training.concerns import TOPICS
from shop.training.models import Act, Authority
from tests.duties.makers import make_duty
from tests.makers import make_person
from tests.room import makers as of_room
from tests.training.makers import give, make_act

TODAY = clock.today


@pytest.fixture
def act(owner):
    return make_act(owner, why="It tears.", steps=" Cut it \n\n  Lay it  ", goes_wrong="It tears", months=12)


@pytest.fixture
def cylinders(db):
    load_starter()
    return Act.objects.get(slug="change-cylinder")


def test_an_act_is_named_by_a_slug_and_its_lines_are_tidied(act):
    assert (act.slug, act.steps, act.months) == ("trim-the-felt", "Cut it\nLay it", 12)


@pytest.mark.parametrize("name", ["trim the FELT", "Trim-the felt!"])
def test_an_act_is_named_once(owner, act, name):
    with pytest.raises(Refused) as no:
        make_act(owner, name)
    assert no.value.field == "name"


@pytest.mark.parametrize("months", [0, -3, 121])
def test_months_are_one_to_ten_years(owner, months):
    with pytest.raises(Refused) as no:
        make_act(owner, months=months)
    assert no.value.field == "months"


def test_an_act_is_changed_and_not_over_somebody_elses_change(owner, engineer, act):
    kept = {"act": act, "version": 1, "name": "Trim felt"}
    changed = actions.change_act(by=engineer, once=uuid4(), **kept)
    assert (changed.name, changed.slug, changed.version) == ("Trim felt", "trim-the-felt", 2)
    with pytest.raises(Changed):
        actions.change_act(by=owner, once=uuid4(), **kept)


def test_one_the_program_asks_for_is_not_stopped(owner, cylinders):
    with pytest.raises(Refused):
        actions.stop_act(by=owner, once=uuid4(), act=cylinders, version=1)


def test_one_of_the_shops_own_is_stopped_and_asked_for_again(owner, assistant, act):
    give(owner, act, assistant)
    actions.stop_act(by=owner, once=uuid4(), act=act, version=1)
    with pytest.raises(Refused):
        give(owner, act, assistant)
    with pytest.raises(Changed):
        actions.stop_act(by=owner, once=uuid4(), act=act, version=2)
    actions.resume_act(by=owner, once=uuid4(), act=act, version=2)
    assert authority.holds(assistant, act.slug, TODAY())


# Giving and taking back -----------------------------------------------------------------------------------------------


def test_care_asks_for_one_of_the_acts_there_are_and_keeps_what_it_asks_for(owner, act, client_of):
    kept = make_duty(owner, authority="mend-the-pump")
    client = client_of(owner)
    page = client.get(reverse("duties:change-duty", args=[kept.pk])).content.decode()
    assert f'<option value="{act.slug}">{act.name}</option>' in page
    assert '<option value="mend-the-pump" selected>mend the pump</option>' in page
    fresh = client.get(reverse("duties:add-duty")).content.decode()
    assert f'<option value="{act.slug}">' in fresh
    assert "mend-the-pump" not in fresh
    answer = client.post(reverse("duties:add-duty"), {"once": uuid4(), "authority": "mend-the-pump"})
    assert answer.status_code == 422
    assert "mend-the-pump is not one of the available choices" not in answer.content.decode()
    assert [word for field, word in answer.context["form"].errors.items() if field == "authority"]


def test_until_it_is_given_roles_decide(owner, engineer, assistant, act):
    assert not authority.is_kept(act.slug)
    assert authority.holds(engineer, act.slug, TODAY())
    assert not authority.holds(assistant, act.slug, TODAY())
    give(owner, act, assistant)
    assert authority.is_kept(act.slug)
    assert authority.holds(assistant, act.slug, TODAY())
    assert not authority.holds(engineer, act.slug, TODAY())


def test_it_runs_for_the_acts_months(owner, assistant, act, at):
    with at("2026-03-02 09:00"):
        assert str(give(owner, act, assistant).until) == "2027-03-01"


def test_both_its_first_and_its_last_day_count(owner, assistant, act):
    today = TODAY()
    given = give(owner, act, assistant, starts_on=today + timedelta(days=3), until=today + timedelta(days=5))
    held = [authority.holds(assistant, act.slug, given.starts_on + timedelta(days=n)) for n in (-1, 0, 2, 3)]
    assert held == [False, True, True, False]


def test_an_act_without_months_has_no_end(owner, assistant):
    assert give(owner, make_act(owner), assistant).until is None


@pytest.mark.parametrize(
    ("other", "field"),
    [
        ({"until": -1}, "until"),
        ({"starts_on": 5, "until": 4}, "until"),
        ({"until": 366 * 10 + 5}, "until"),
        ({"note": " "}, "note"),
    ],
)
def test_days_and_reasons_that_will_not_do(owner, assistant, act, other, field):
    days = {name: TODAY() + timedelta(days=value) for name, value in other.items() if name != "note"}
    with pytest.raises(Refused) as no:
        give(owner, act, assistant, **other | days)
    assert no.value.field == field
    assert not Authority.objects.exists()


def test_a_visitor_is_given_none(owner, visitor, act):
    with pytest.raises(Refused) as no:
        give(owner, act, visitor)
    assert no.value.field == "person"


def test_only_an_owner_gives(engineer, assistant, act):
    with pytest.raises(NotAllowed):
        give(engineer, act, assistant)


def test_what_is_taken_back_holds_no_more_and_stays_on_record(owner, engineer, assistant, act):
    given = give(owner, act, assistant)
    actions.withdraw_authority(by=engineer, once=uuid4(), authority=given, why="Left a tap open.", sure=["last"])
    assert not authority.holds(assistant, act.slug, TODAY())
    assert authority.is_kept(act.slug)
    with pytest.raises(Changed):
        actions.withdraw_authority(by=owner, once=uuid4(), authority=given, why="Again.")


def test_an_engineer_takes_back_no_owners(owner, engineer, act):
    given = give(owner, act, owner)
    with pytest.raises(Refused):
        actions.withdraw_authority(by=engineer, once=uuid4(), authority=given, why="No.")


def test_what_ran_out_is_not_taken_back(owner, assistant, act, at):
    given = give(owner, act, assistant, until=TODAY())
    with at(f"{TODAY() + timedelta(days=2)} 09:00"), pytest.raises(Refused):
        actions.withdraw_authority(by=owner, once=uuid4(), authority=given, why="Late.")


def test_somebody_switched_off_holds_nothing(owner, assistant, act):
    give(owner, act, assistant)
    assistant.is_active = False
    assistant.save()
    assert not authority.holds(assistant, act.slug, TODAY())
    assert queries.held_now() == []


def test_the_last_is_taken_back_only_after_it_was_asked(owner, engineer, assistant, client_of):
    load_starter()
    signing = Act.objects.get(slug=queries.SIGN_OFF)
    first, last = give(owner, signing, engineer), give(owner, signing, assistant)
    switched_off = make_person("gone", "Gone Away", "engineer")
    give(owner, signing, switched_off)
    switched_off.is_active = False
    switched_off.save()
    actions.withdraw_authority(by=owner, once=uuid4(), authority=first, why="Moved on.")
    client, address = client_of(owner), reverse("training:withdraw-authority", args=[last.pk])
    typed = {"once": uuid4(), "why": "Moved on."}
    asked = client.post(address, typed)
    assert asked.status_code == 422
    assert f"Nobody else holds the authority “{signing.name}”." in asked.content.decode()
    assert authority.holds(assistant, signing.slug, TODAY())
    assert client.post(address, typed | {"sure": "last"}).status_code == 302
    assert not authority.holds(assistant, signing.slug, TODAY())
    page = client_of(engineer).get(signing.get_absolute_url()).content.decode()
    assert "Nobody here may do it alone now, so nobody can watch you at it either: ask the owner." in page


def test_one_that_somebody_holds_twice_or_that_is_to_come_is_not_the_last(owner, assistant, act):
    first, _ = give(owner, act, assistant), give(owner, act, assistant)
    coming = give(owner, act, assistant, starts_on=TODAY() + timedelta(days=3))
    for given in (first, coming):
        actions.withdraw_authority(by=owner, once=uuid4(), authority=given, why="Moved on.")
    assert authority.holds(assistant, act.slug, TODAY())


# Acts that only some roles do -----------------------------------------------------------------------------------------


@pytest.fixture
def approving(db):
    load_starter()
    return Act.objects.get(slug="approve-sheet")


def test_an_act_that_is_kept_to_some_roles_is_given_to_no_other(owner, engineer, assistant, approving, client_of):
    with pytest.raises(Refused) as no:
        give(owner, approving, assistant)
    assert no.value.field == "person"
    assert "Only owners and engineers do this" in no.value.sentence
    give(owner, approving, engineer)
    page = client_of(assistant).get(approving.get_absolute_url()).content.decode()
    assert "Only owners and engineers do it, also with an authority." in page
    assert "under the eye of" not in page
    assert (
        "Only owners and engineers can be given it."
        in client_of(owner).get(approving.get_absolute_url()).content.decode()
    )
    assert "not in this role" in client_of(owner).get(reverse("training:acts")).content.decode()
    assert approving not in [one for one, _ in queries.alone(assistant).beside]


def test_whoever_held_it_and_has_another_role_now_holds_it_no_more(owner, engineer, approving):
    give(owner, approving, engineer)
    assert authority.holds(engineer, approving.slug, TODAY())
    engineer.role = "assistant"
    engineer.save()
    assert not authority.holds(engineer, approving.slug, TODAY())
    assert queries.held_now([engineer]) == []


# What asks for it -----------------------------------------------------------------------------------------------------


@pytest.fixture
def full(owner):
    return of_room.add_cylinder(owner, "N-9")


def test_an_action_asks_for_it_or_for_an_eye(owner, engineer, assistant, cylinders, full):
    give(owner, cylinders, engineer)
    with pytest.raises(Refused) as no:
        room.connect_cylinder(by=assistant, once=uuid4(), cylinder=full)
    assert no.value.field == "under"
    room.connect_cylinder(by=assistant, once=uuid4(), cylinder=full, under=engineer)
    full.refresh_from_db()
    assert full.state == "connected"


def test_the_eye_must_be_anothers_who_has_it(owner, engineer, assistant, cylinders, full):
    give(owner, cylinders, engineer)
    for eye in (owner, assistant):
        with pytest.raises(Refused) as no:
            room.connect_cylinder(by=assistant, once=uuid4(), cylinder=full, under=eye)
        assert no.value.field == "under"


def test_an_eye_whose_authority_lapsed_yesterday_is_none(owner, engineer, assistant, cylinders, full, at):
    give(owner, cylinders, engineer, until=TODAY())
    with at(f"{TODAY() + timedelta(days=1)} 09:00"), pytest.raises(Refused) as no:
        room.connect_cylinder(by=assistant, once=uuid4(), cylinder=full, under=engineer)
    assert no.value.field == "under"


def test_the_form_asks_who_watches_only_where_it_must(owner, engineer, assistant, cylinders, full, client_of):
    address = reverse("room:connect-cylinder", args=[full.pk])
    assert "under" not in client_of(assistant).get(address).context["form"].fields
    give(owner, cylinders, engineer)
    assert "under" in client_of(assistant).get(address).context["form"].fields
    assert "under" not in client_of(engineer).get(address).context["form"].fields


def test_the_form_names_those_who_may_watch_and_asks_for_one(owner, engineer, assistant, cylinders, full, client_of):
    give(owner, cylinders, engineer)
    page = client_of(assistant).get(reverse("room:connect-cylinder", args=[full.pk]))
    box = page.context["form"]["under"]
    assert [str(name) for _, name in box.field.choices] == ["Choose who watches", str(engineer)]
    label = page.content.decode().partition("Under whose eye")[2].partition("</label>")[0]
    assert "if you like" not in label


# Pages ---------------------------------------------------------------------------------------------------------------


def test_the_matrix_says_until_when(owner, engineer, assistant, act, client_of):
    given = give(owner, act, assistant)
    page = client_of(assistant).get(reverse("training:acts")).content.decode()
    assert f"until {given.until.day} {given.until:%b %Y}" in page
    assert "under an eye" in page


def test_the_matrix_keeps_to_its_queries(owner, client_of, django_assert_max_num_queries):
    load_starter()
    for act in Act.objects.all():
        give(owner, act, owner)
    client = client_of(owner)
    with django_assert_max_num_queries(12):
        client.get(reverse("training:acts"))


def test_an_act_tells_its_reader_whom_to_ask(owner, engineer, assistant, act, client_of):
    give(owner, act, engineer)
    assert "You may do it alone." in client_of(engineer).get(act.get_absolute_url()).content.decode()
    page = client_of(assistant).get(act.get_absolute_url()).content.decode()
    assert f"under the eye of {engineer.name}" in page
    assert "Take it back" not in page


def test_it_prints(owner, assistant, act, client_of):
    give(owner, act, assistant)
    answer = client_of(owner).get(reverse("training:acts-pdf"))
    (page,) = pypdf.PdfReader(BytesIO(answer.content)).pages
    assert "Trim the felt" in page.extract_text()


# Lapses --------------------------------------------------------------------------------------------------------------


def worries():
    return together(TOPICS, clock.now())


@pytest.mark.parametrize(("days", "said"), [(31, "runs out"), (0, "runs out"), (32, None)])
def test_a_lapse_is_told_a_month_ahead(owner, assistant, act, days, said):
    give(owner, act, assistant, until=TODAY() + timedelta(days=days))
    told = worries()
    assert [one.key for one in told] == ([f"training:lapse:{act.slug}"] if said else [])
    assert all(said in one.reason and assistant.name in one.reason for one in told)


def test_one_that_ran_out_is_told_for_a_month(owner, assistant, act, at):
    give(owner, act, assistant, until=TODAY())
    today = TODAY()
    with at(f"{today + timedelta(days=1)} 09:00"):
        assert "ran out" in worries()[0].reason
    with at(f"{today + timedelta(days=40)} 09:00"):
        assert worries() == []


def test_one_that_was_given_anew_worries_nobody(owner, assistant, act):
    give(owner, act, assistant, until=TODAY() + timedelta(days=5))
    give(owner, act, assistant)
    assert worries() == []


def test_one_that_was_taken_back_worries_nobody(owner, assistant, act):
    given = give(owner, act, assistant, until=TODAY() + timedelta(days=5))
    actions.withdraw_authority(by=owner, once=uuid4(), authority=given, why="Moved on.", sure=["last"])
    assert worries() == []
