from django.apps import AppConfig


class DutiesConfig(AppConfig):
    name = "shop.duties"
    label = "duties"
