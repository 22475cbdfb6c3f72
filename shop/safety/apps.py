from django.apps import AppConfig

from shop import concern
from shop.carrying import lists


class SafetyConfig(AppConfig):
    name = "shop.safety"
    label = "safety"

    def ready(self) -> None:
        from shop.duties.sheets import register_sheets
        from shop.jobs import registry
        from shop.safety import queries
        from shop.safety.concerns import concerns
        from shop.safety.exports import EXPORTS
        from shop.safety.sheet_files import kept

        concern.register("safety", concerns)
        lists.register("Hazards", EXPORTS)
        register_sheets(queries.sheets_for_duties)
        registry.register("clear suppliers' sheets that belong to nothing", registry.each_day, kept.clear_unclaimed)
