from django.apps import AppConfig

from shop import concern


class StockConfig(AppConfig):
    name = "shop.stock"
    label = "stock"

    def ready(self) -> None:
        from shop.jobs import registry
        from shop.stock.concerns import concerns
        from shop.stock.figures import keep_figures

        concern.register("stock", concerns)
        registry.register("work out what to order", registry.each_ten_minutes, keep_figures)
