from django.apps import AppConfig


class SafetyConfig(AppConfig):
    name = "shop.safety"
    label = "safety"
