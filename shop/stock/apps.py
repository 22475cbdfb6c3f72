from django.apps import AppConfig

from shop import concern


class StockConfig(AppConfig):
    name = "shop.stock"
    label = "stock"

    def ready(self) -> None:
        from shop.stock.concerns import concerns

        concern.register("stock", concerns)
