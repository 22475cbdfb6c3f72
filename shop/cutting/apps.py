from django.apps import AppConfig

from shop import concern


class CuttingConfig(AppConfig):
    name = "shop.cutting"
    label = "cutting"

    def ready(self) -> None:
        from shop.cutting import concerns, queries
        from shop.stock.claims import register_claims
        from shop.stock.ledger import register_owner

        concern.register("cutting", concerns.concerns)
        register_claims("cutting", queries.claims)
        register_owner(queries.owners)
