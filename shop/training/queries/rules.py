"""The shop's own rules for training."""

from shop.training.models import TrainingRules


def training_rules() -> TrainingRules:
    """The shop's rules; those of the model, at version 0, where nobody has set them."""
    return TrainingRules.objects.filter(pk=1).first() or TrainingRules(pk=1, version=0)
