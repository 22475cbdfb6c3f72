from django.apps import AppConfig


class TrainingConfig(AppConfig):
    name = "shop.training"
    label = "training"
