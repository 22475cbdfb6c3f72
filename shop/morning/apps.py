from django.apps import AppConfig


class MorningConfig(AppConfig):
    name = "shop.morning"
    label = "morning"

    def ready(self) -> None:
        from shop import concern
        from shop.morning.concerns import concerns

        concern.register("morning", concerns)
