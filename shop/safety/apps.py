from django.apps import AppConfig

from shop import concern


class SafetyConfig(AppConfig):
    name = "shop.safety"
    label = "safety"

    def ready(self) -> None:
        from shop.safety.concerns import concerns

        concern.register("safety", concerns)
