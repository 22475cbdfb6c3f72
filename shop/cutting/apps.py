from django.apps import AppConfig


class CuttingConfig(AppConfig):
    name = "shop.cutting"
    label = "cutting"
