"""The shop's own lists and limits."""

import pytest

from shop.cutting import actions, queries
from shop.cutting.models import CuttingLimits, Lathe, RejectReason, StylusKind
from shop.refusal import Changed, NotAllowed, Refused
from tests.cutting.makers import make_bench, once

pytestmark = pytest.mark.django_db


def kind(by, **other):
    facts = {"name": "Ruby, heated", "expected_h": 15.0, "sureness": "rough", "tip_radius_um": 6.0}
    return actions.add_stylus_kind(by=by, once=once(), **facts | other)


def test_a_lathe_is_renamed_and_taken_out_of_use(engineer):
    lathe = actions.add_lathe(by=engineer, once=once(), name="  Old   lathe ")
    assert lathe.name == "Old lathe"
    changed = actions.change_lathe(by=engineer, once=once(), lathe=lathe, version=1, name="Lathe", is_active=False)
    assert (changed.name, changed.is_active, changed.version) == ("Lathe", False, 2)
    with pytest.raises(Changed):
        actions.change_lathe(by=engineer, once=once(), lathe=lathe, version=1, name="X", is_active=True)


def test_a_lathe_with_a_stylus_in_its_head_stays_in_use(engineer):
    bench = make_bench(engineer)
    with pytest.raises(Refused, match="R-1 is in its head") as no:
        actions.change_lathe(by=engineer, once=once(), lathe=bench.lathe, version=1, name="Lathe", is_active=False)
    assert no.value.field == "is_active"


@pytest.mark.parametrize(
    ("field", "other"),
    [
        ("name", {"name": " "}),
        ("name", {"name": "x" * 81}),
        ("expected_h", {"expected_h": 0}),
        ("expected_h", {"expected_h": -4}),
        ("expected_h", {"expected_h": 1e12}),
        ("expected_h", {"expected_h": float("nan")}),
        ("sureness", {"sureness": "certain"}),
        ("tip_radius_um", {"tip_radius_um": 90}),
    ],
)
def test_a_kind_that_makes_no_sense_is_refused_at_its_field(engineer, field, other):
    with pytest.raises(Refused) as no:
        kind(engineer, **other)
    assert no.value.field == field
    assert not StylusKind.objects.exists()


def test_changing_what_is_expected_changes_what_is_left(engineer):
    made = kind(engineer, sureness="well")
    before = queries.usual_hours(made, queries.records(frozenset([made.pk]))[made.pk])
    changed = actions.change_stylus_kind(
        by=engineer,
        once=once(),
        kind=made,
        version=1,
        name=made.name,
        expected_h=30.0,
        sureness="well",
        tip_radius_um=6.0,
        is_active=True,
    )
    after = queries.usual_hours(changed, queries.records(frozenset([made.pk]))[made.pk])
    assert after.half == pytest.approx(2 * before.half, rel=1e-6)
    assert before.low < before.half < before.high


def test_names_are_taken_once_however_they_are_written(engineer):
    kind(engineer)
    reason = actions.add_reject_reason(by=engineer, once=once(), name="Noisy blank", blame="blank")
    actions.add_lathe(by=engineer, once=once(), name="Lathe")
    for again in (
        lambda: kind(engineer, name="RUBY, heated"),
        lambda: actions.add_reject_reason(by=engineer, once=once(), name="noisy BLANK", blame="other"),
        lambda: actions.add_lathe(by=engineer, once=once(), name="lathe"),
    ):
        with pytest.raises(Refused) as no:
            again()
        assert no.value.field == "name"
    changed = actions.change_reject_reason(
        by=engineer, once=once(), reason=reason, version=1, name="NOISY blank", blame="stylus", is_active=False
    )
    assert (changed.name, changed.blame, changed.is_active) == ("NOISY blank", "stylus", False)


def test_a_reason_speaks_against_something_known(engineer):
    with pytest.raises(Refused) as no:
        actions.add_reject_reason(by=engineer, once=once(), name="Weather", blame="weather")
    assert (no.value.field, RejectReason.objects.count()) == ("blame", 0)


def test_limits_begin_as_the_models_and_are_the_shops_to_set(engineer):
    assert queries.limits().care_below == 0.9
    done = actions.change_limits(by=engineer, once=once(), version=1, care_below=0.8, hold_below=0.5, days_ahead=7)
    assert (done.version, queries.limits().days_ahead) == (2, 7)
    with pytest.raises(Changed):
        actions.change_limits(by=engineer, once=once(), version=1, care_below=0.8, hold_below=0.5, days_ahead=7)


@pytest.mark.parametrize(
    ("field", "limits"),
    [
        ("care_below", (1.5, 0.5, 14)),
        ("hold_below", (0.9, -0.1, 14)),
        ("hold_below", (0.5, 0.9, 14)),
        ("days_ahead", (0.9, 0.5, 0)),
        ("days_ahead", (0.9, 0.5, 10**9)),
    ],
)
def test_limits_that_make_no_sense_are_refused(engineer, field, limits):
    care, hold, days = limits
    with pytest.raises(Refused) as no:
        actions.change_limits(by=engineer, once=once(), version=1, care_below=care, hold_below=hold, days_ahead=days)
    assert no.value.field == field
    assert not CuttingLimits.objects.exists()


def test_lists_are_for_engineers(assistant):
    for press in (
        lambda: actions.add_lathe(by=assistant, once=once(), name="Lathe"),
        lambda: kind(assistant),
        lambda: actions.add_reject_reason(by=assistant, once=once(), name="Why", blame="other"),
        lambda: actions.change_limits(
            by=assistant, once=once(), version=1, care_below=0.8, hold_below=0.5, days_ahead=7
        ),
    ):
        with pytest.raises(NotAllowed):
            press()
    assert not Lathe.objects.exists()
