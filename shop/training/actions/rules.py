"""The shop's own rules for training."""

from django.db.models import F

from shop.people.models import OWNERS, Person
from shop.press.action import action
from shop.press.rules import CHANGED
from shop.refusal import Changed, Refused
from shop.training.models import TrainingRules
from shop.training.queries.rules import training_rules


@action(roles=OWNERS)
def change_training_rules(*, by: Person, version: int, keep_years: int) -> TrainingRules:
    """Say for how many years a training record is kept once somebody has left.

    version: 0 where nobody has set it yet. Changed if `version` is stale.
    """
    if not 1 <= keep_years <= 60:
        raise Refused("Give years from 1 to 60.", field="keep_years")
    values = {"keep_years": keep_years}
    if version == 0:
        rules, done = TrainingRules.objects.get_or_create(pk=1, defaults=values)
    else:
        done = bool(TrainingRules.objects.filter(pk=1, version=version).update(**values, version=F("version") + 1))
        rules = training_rules()
    if not done:
        raise Changed(CHANGED)
    return rules
