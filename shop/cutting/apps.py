from django.apps import AppConfig

from shop import concern, happening, topic
from shop.carrying import lists


class CuttingConfig(AppConfig):
    name = "shop.cutting"
    label = "cutting"

    def ready(self) -> None:
        from shop.cutting import concerns, happenings, queries
        from shop.cutting.exports import EXPORTS
        from shop.cutting.models import TipPhoto
        from shop.cutting.things import THINGS
        from shop.cutting.topics import TOPICS
        from shop.duties.photos import register_claims as register_photos
        from shop.log import things
        from shop.stock.claims import register_claims
        from shop.stock.ledger import register_owner
        from shop.stock.quality import register_faulty

        concern.register("cutting", concerns.concerns)
        topic.register("masters", TOPICS)
        register_photos(TipPhoto)
        happening.register("cutting", happenings.happenings)
        lists.register("Cutting", EXPORTS)
        register_claims("cutting", queries.claims)
        register_owner(queries.owners)
        register_faulty("cutting", queries.faulty_blanks)
        things.register("cutting", THINGS)
