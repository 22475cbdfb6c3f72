from django.apps import AppConfig


class PressConfig(AppConfig):
    name = "shop.press"
    label = "press"
