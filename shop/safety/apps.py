from django.apps import AppConfig

from shop import topic
from shop.carrying import lists


class SafetyConfig(AppConfig):
    name = "shop.safety"
    label = "safety"

    def ready(self) -> None:
        from shop.duties import effects
        from shop.duties.sheets import register_sheets
        from shop.jobs import registry
        from shop.log import things
        from shop.people import authority
        from shop.people.models import ENGINEERS
        from shop.safety import care, queries
        from shop.safety.concerns import TOPICS
        from shop.safety.exports import EXPORTS
        from shop.safety.papers import binder
        from shop.safety.sheet_files import kept
        from shop.safety.things import THINGS
        from shop.stock.ledger import register_owner

        authority.keep_to(queries.APPROVE, ENGINEERS)
        effects.register(care.FinishContainer())
        register_owner(care.owners)
        topic.register("safety", TOPICS)
        lists.register("Hazards", EXPORTS)
        register_sheets(queries.sheets_for_duties)
        registry.register("clear suppliers' sheets that belong to nothing", registry.each_day, kept.clear_unclaimed)
        registry.register(binder.JOB, registry.each_minute, binder.carry_on_all)
        things.register("safety", THINGS)
