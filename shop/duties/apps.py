from django.apps import AppConfig

from shop import concern


class DutiesConfig(AppConfig):
    name = "shop.duties"
    label = "duties"

    def ready(self) -> None:
        from shop.duties import concerns

        concern.register("duties", concerns.concerns)
