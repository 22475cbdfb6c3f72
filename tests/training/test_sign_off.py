"""Signing others off, and what comes of it."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction

from shop import clock
from shop.calc.learning import Stands
from shop.people import authority
from shop.people.models import Person, Role
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.training import actions, queries
from shop.training.models import Authority, How, SelfSigning, SignOff, Step
from tests.makers import make_person
from tests.training.makers import enrol, give, make_act, make_programme, sign, step_of

TODAY = clock.today


@pytest.fixture
def programme(db):
    made = make_programme("watch:Walk the exits", "do:Wet the chip", "show:Empty the trap")
    wet, trap = step_of(made, "Wet the chip"), step_of(made, "Empty the trap")
    Step.objects.filter(pk=wet.pk).update(times=2)
    wet.needs.add(step_of(made, "Walk the exits"))
    trap.needs.add(wet)
    return made


@pytest.fixture
def exits(programme):
    return step_of(programme, "Walk the exits")


@pytest.fixture
def trap(programme):
    return step_of(programme, "Empty the trap")


@pytest.fixture
def course(engineer, assistant, programme):
    return enrol(engineer, programme, assistant, mentor=engineer)


def standing(course, step):
    return queries.course_of(course).line_of(step).standing


def test_it_is_kept_with_who_and_how_and_which_edition(engineer, assistant, course, exits):
    made = sign(engineer, exits, assistant, note=" Both  doors. ", how=How.PASSWORD)
    assert (made.by, made.person, made.edition, made.on) == (engineer, assistant, 1, TODAY())
    assert (made.note, made.how) == ("Both doors.", "password")
    assert standing(course, exits).stands is Stands.DONE


def test_a_press_counts_once(engineer, assistant, course, exits):
    token = uuid4()
    typed = {"step": exits, "edition": 1, "person": assistant, "on": TODAY(), "how": "code", "signed_in": assistant}
    assert len({actions.sign_off(by=engineer, once=token, **typed).pk for _ in range(2)}) == 1


def test_a_step_that_is_done_several_times_takes_a_press_for_each(engineer, assistant, course, programme, exits):
    sign(engineer, exits, assistant)
    wet = step_of(programme, "Wet the chip")
    sign(engineer, wet, assistant)
    assert (standing(course, wet).stands, standing(course, wet).count) == (Stands.OPEN, 1)
    sign(engineer, wet, assistant)
    assert standing(course, wet).stands is Stands.DONE


def test_the_database_takes_no_change_of_it(engineer, assistant, course, exits):
    made = sign(engineer, exits, assistant)
    for change in (lambda: SignOff.objects.update(note="x"), lambda: made.delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()


@pytest.mark.parametrize("title", ["Wet the chip", "Empty the trap"])
def test_what_comes_first_is_named(engineer, assistant, course, programme, title):
    with pytest.raises(Refused) as no:
        sign(engineer, step_of(programme, title), assistant)
    assert "First comes: W" in no.value.sentence
    assert not SignOff.objects.exists()


@pytest.mark.parametrize("kind", ["read", "answer"])
def test_what_ends_by_itself_is_not_signed(engineer, assistant, course, exits, kind):
    Step.objects.filter(pk=exits.pk).update(kind=kind)
    with pytest.raises(Refused, match="Nobody signs this step"):
        sign(engineer, exits, assistant)


def test_who_is_not_on_the_programme_is_not_signed_off(owner, engineer, assistant, programme, exits):
    with pytest.raises(Refused, match="do not go through"):
        sign(engineer, exits, assistant)


def test_a_stopped_step_is_not_signed(engineer, assistant, course, exits):
    Step.objects.filter(pk=exits.pk).update(is_active=False)
    with pytest.raises(Refused, match="stopped"):
        sign(engineer, exits, assistant)


def test_a_step_that_was_changed_since_it_was_read_is_read_again(engineer, assistant, course, exits):
    Step.objects.filter(pk=exits.pk).update(edition=2)
    with pytest.raises(Changed, match="Read it as it is now"):
        sign(engineer, exits, assistant, edition=1)
    assert not SignOff.objects.exists()
    assert sign(engineer, exits, assistant, edition=2).edition == 2


def test_it_is_dated_today_or_before(engineer, assistant, course, exits):
    with pytest.raises(Refused) as no:
        sign(engineer, exits, assistant, on=TODAY() + timedelta(days=1))
    assert no.value.field == "on"


def test_a_day_before_the_first_is_asked_about(engineer, assistant, course, exits):
    early = TODAY() - timedelta(days=1)
    with pytest.raises(Doubtful):
        sign(engineer, exits, assistant, on=early)
    assert sign(engineer, exits, assistant, on=early, sure=["before"]).on == early


# Who may sign ---------------------------------------------------------------------------------------------------------


def test_nobody_signs_for_themselves(engineer, programme, exits):
    enrol(engineer, programme, engineer)
    with pytest.raises(Refused) as no:
        sign(engineer, exits, engineer)
    assert no.value.field == "signer"


@pytest.mark.parametrize("marked", [True, False])
def test_nor_through_a_second_account(owner, engineer, programme, exits, marked):
    """Marked by an owner as one person's, or alike by name with no owner having said anything yet."""
    second = make_person("maarsk2", "A. Maarsk" if marked else engineer.name, Role.ASSISTANT)
    if marked:
        Person.objects.filter(pk=second.pk).update(same_as=engineer)
        second.refresh_from_db()
    enrol(owner, programme, second)
    with pytest.raises(Refused, match="of one person"):
        sign(engineer, exits, second)
    assert not SignOff.objects.exists()


def test_it_counts_no_more_once_the_accounts_turn_out_to_be_one_persons(engineer, assistant, course, exits):
    sign(engineer, exits, assistant)
    Person.objects.filter(pk=assistant.pk).update(same_as=engineer)
    assert standing(queries.enrolments().get(), exits).stands is Stands.OPEN


def test_an_assistant_signs_nobody_off(owner, assistant, programme, exits):
    enrol(owner, programme, owner)
    with pytest.raises(Refused, match="does not hold the authority"):
        sign(assistant, exits, owner)


def test_a_visitor_is_not_even_asked(owner, visitor, programme, exits):
    enrol(owner, programme, owner)
    with pytest.raises(NotAllowed):
        sign(visitor, exits, owner)


def test_once_it_is_given_to_somebody_it_takes_that(owner, engineer, assistant, course, exits):
    give(owner, make_act(owner, "Sign off"), owner)
    with pytest.raises(Refused, match="Sign off"):
        sign(engineer, exits, assistant)
    assert sign(owner, exits, assistant)


def test_an_authority_that_ran_out_yesterday_is_none_and_that_is_said(owner, engineer, assistant, course, exits, at):
    today = TODAY()
    give(owner, make_act(owner, "Sign off"), engineer, until=today)
    sign(engineer, exits, assistant)
    with at(f"{today + timedelta(days=1)} 09:00"), pytest.raises(Refused, match="it ran out on") as no:
        sign(engineer, exits, assistant)
    assert no.value.field == "signer"
    assert SignOff.objects.count() == 1


def test_one_that_was_taken_back_says_so(owner, engineer, assistant, course, exits):
    given = give(owner, make_act(owner, "Sign off"), engineer)
    actions.withdraw_authority(by=owner, once=uuid4(), authority=given, why="Signed in the corridor.", sure=["last"])
    with pytest.raises(Refused, match="it was taken back on"):
        sign(engineer, exits, assistant)


def test_one_vouches_only_for_what_one_is_trusted_with(owner, engineer, assistant, course, exits):
    act = make_act(owner, "Empty the trap")
    Step.objects.filter(pk=exits.pk).update(act=act)
    give(owner, act, owner)
    with pytest.raises(Refused, match="Empty the trap"):
        sign(engineer, exits, assistant)
    assert sign(owner, exits, assistant)


def test_who_may_sign_is_told(owner, engineer, assistant, course, exits):
    assert queries.who_may_sign(exits, assistant, queries.hands()) == [engineer, owner]
    give(owner, make_act(owner, "Sign off"), owner)
    assert queries.who_may_sign(exits, assistant, queries.hands()) == [owner]


def test_an_attempt_to_sign_for_oneself_is_kept(engineer, assistant, exits):
    actions.note_self_signing(by=engineer, once=uuid4(), step=exits, person=assistant)
    assert str(SelfSigning.objects.get()) == f"Walk the exits: {engineer} for {assistant}, refused"


# The authority that comes with it -------------------------------------------------------------------------------------


@pytest.fixture
def act(owner, trap):
    made = make_act(owner, "Work on the line", months=12)
    Step.objects.filter(pk=trap.pk).update(act=made)
    trap.refresh_from_db()
    return made


def through(signer, programme, person, *titles):
    for title in titles:
        sign(signer, step_of(programme, title), person)


BEFORE = ("Walk the exits", "Wet the chip", "Wet the chip")


def test_it_is_given_when_every_step_is_done(engineer, assistant, course, programme, trap, act, at):
    with at("2026-03-02 09:00"):
        actions.change_enrolment(by=engineer, once=uuid4(), enrolment=course, version=1, starts_on=TODAY())
        through(engineer, programme, assistant, *BEFORE)
        made = sign(engineer, trap, assistant, give=True)
        given = Authority.objects.get()
        assert (given.sign_off, given.by, given.person) == (made, engineer, assistant)
        assert str(given.until) == "2027-03-01"
        assert authority.holds(assistant, act.slug, TODAY())


def test_it_is_not_given_while_a_step_asks_again(engineer, assistant, course, programme, exits, trap, act):
    through(engineer, programme, assistant, *BEFORE)
    Step.objects.filter(pk=exits.pk).update(edition=2)
    with pytest.raises(Refused, match="Still missing: Walk the exits") as no:
        sign(engineer, trap, assistant, give=True)
    assert no.value.field == "give"
    assert not Authority.objects.exists()
    assert sign(engineer, trap, assistant)


def test_it_runs_no_longer_than_the_act_says(engineer, assistant, course, programme, trap, act):
    through(engineer, programme, assistant, *BEFORE)
    with pytest.raises(Refused) as no:
        sign(engineer, trap, assistant, give=True, until=TODAY() + timedelta(days=800))
    assert no.value.field == "until"
    sign(engineer, trap, assistant, give=True, until=TODAY() + timedelta(days=10))
    assert Authority.objects.get().until == TODAY() + timedelta(days=10)


@pytest.mark.parametrize(
    ("months", "until", "sentence"),
    [
        (None, lambda today: today.replace(year=today.year + 11), "more than 10 years"),
        (None, lambda today: today - timedelta(days=1), "before it begins"),
        (12, lambda today: today - timedelta(days=1), "before it begins"),
    ],
)
def test_its_last_day_keeps_to_the_rules_of_the_owners_form(
    owner, engineer, assistant, course, programme, trap, act, months, until, sentence
):
    type(act).objects.filter(pk=act.pk).update(months=months)
    through(engineer, programme, assistant, *BEFORE)
    for press in (
        lambda: sign(engineer, trap, assistant, give=True, until=until(TODAY())),
        lambda: give(owner, act, assistant, until=until(TODAY())),
    ):
        with pytest.raises(Refused, match=sentence) as no:
            press()
        assert no.value.field == "until"
    assert not Authority.objects.exists()


@pytest.mark.parametrize("months", [None, 6])
def test_an_empty_last_day_means_what_it_means_in_the_owners_form(
    owner, engineer, assistant, course, programme, trap, act, months
):
    type(act).objects.filter(pk=act.pk).update(months=months)
    through(engineer, programme, assistant, *BEFORE)
    sign(engineer, trap, assistant, give=True)
    by_sign_off = Authority.objects.get()
    assert by_sign_off.until == give(owner, act, assistant).until
    assert (by_sign_off.until is None) == (months is None)


@pytest.mark.parametrize(("kept", "wanted", "count"), [(0, 0, 1), (0, -9, 1), (None, 0, 1), (-9, 0, 2)])
def test_none_is_given_besides_one_that_runs_as_long(
    owner, engineer, assistant, course, programme, trap, act, kept, wanted, count
):
    """kept, wanted: days after the last by the act's months; None for no end."""
    last = TODAY() + timedelta(days=100)
    if kept is None:
        type(act).objects.filter(pk=act.pk).update(months=None)
    give(owner, act, assistant, until=None if kept is None else last + timedelta(days=kept))
    give(owner, act, engineer)
    type(act).objects.filter(pk=act.pk).update(months=12)
    through(engineer, programme, assistant, *BEFORE)
    made = sign(engineer, trap, assistant, give=True, until=last + timedelta(days=wanted))
    assert made.authorities.count() == count - 1
    assert Authority.objects.filter(person=assistant).count() == count


def test_a_step_without_an_act_gives_none(engineer, assistant, course, exits):
    with pytest.raises(Refused) as no:
        sign(engineer, exits, assistant, give=True)
    assert no.value.field == "give"


# Withdrawing ----------------------------------------------------------------------------------------------------------


def withdraw(by, made, why="It was somebody else's hand."):
    return actions.withdraw_sign_off(by=by, once=uuid4(), sign_off=made, why=why)


def test_it_is_withdrawn_by_a_record_with_the_reason(engineer, assistant, course, exits):
    made = sign(engineer, exits, assistant)
    assert withdraw(engineer, made).why == "It was somebody else's hand."
    assert standing(course, exits).stands is Stands.OPEN
    assert SignOff.objects.get() == made
    with pytest.raises(Changed):
        withdraw(engineer, made)


def test_who_neither_signed_it_nor_may_sign_does_not_withdraw_it(owner, engineer, assistant, course, exits):
    give(owner, make_act(owner, "Sign off"), owner)
    made = sign(owner, exits, assistant)
    with pytest.raises(Refused):
        withdraw(engineer, made)
    with pytest.raises(NotAllowed):
        withdraw(assistant, made)


def test_nobody_withdraws_what_is_about_themselves(owner, engineer, programme, exits):
    enrol(owner, programme, engineer)
    made = sign(owner, exits, engineer)
    with pytest.raises(Refused, match="about you"):
        withdraw(engineer, made)


def test_what_rests_on_it_says_so_and_the_authority_goes_with_it(
    engineer, assistant, course, programme, exits, trap, act
):
    through(engineer, programme, assistant, *BEFORE)
    sign(engineer, trap, assistant, give=True)
    withdraw(engineer, SignOff.objects.get(step=exits))
    assert standing(course, step_of(programme, "Wet the chip")).lacks == (exits.pk,)
    assert not authority.holds(assistant, act.slug, TODAY())
    assert "It rested on “Walk the exits”" in Authority.objects.get().withdrawn.why


def test_one_of_more_than_it_takes_may_be_withdrawn_without_that(engineer, assistant, course, programme, trap, act):
    through(engineer, programme, assistant, *BEFORE, "Wet the chip")
    sign(engineer, trap, assistant, give=True)
    withdraw(engineer, SignOff.objects.filter(step__title="Wet the chip").first())
    assert authority.holds(assistant, act.slug, TODAY())


def test_what_the_owner_gave_stays(owner, engineer, assistant, course, exits, act):
    given = give(owner, act, assistant)
    withdraw(engineer, sign(engineer, exits, assistant))
    assert authority.holds(assistant, act.slug, TODAY())
    assert not hasattr(given, "withdrawn")


def test_it_is_withdrawn_after_the_programme_was_ended_too(engineer, assistant, course, programme, exits, trap, act):
    through(engineer, programme, assistant, *BEFORE)
    sign(engineer, trap, assistant, give=True)
    actions.end_enrolment(by=engineer, once=uuid4(), enrolment=course, version=1, why="Done.")
    withdraw(engineer, SignOff.objects.get(step=exits))
    assert not authority.holds(assistant, act.slug, TODAY())
