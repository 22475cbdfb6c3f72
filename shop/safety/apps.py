from django.apps import AppConfig

from shop import concern


class SafetyConfig(AppConfig):
    name = "shop.safety"
    label = "safety"

    def ready(self) -> None:
        from shop.jobs import registry
        from shop.safety.concerns import concerns
        from shop.safety.sheet_files import kept

        concern.register("safety", concerns)
        registry.register("clear suppliers' sheets that belong to nothing", registry.each_day, kept.clear_unclaimed)
