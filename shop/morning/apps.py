from django.apps import AppConfig


class MorningConfig(AppConfig):
    name = "shop.morning"
    label = "morning"
