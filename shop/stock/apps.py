from django.apps import AppConfig

from shop import concern, happening
from shop.carrying import lists


class StockConfig(AppConfig):
    name = "shop.stock"
    label = "stock"

    def ready(self) -> None:
        from shop.jobs import registry
        from shop.log import things
        from shop.stock.concerns import concerns
        from shop.stock.exports import EXPORTS
        from shop.stock.figures import keep_figures
        from shop.stock.happenings import happenings
        from shop.stock.quality import compare_every_hour
        from shop.stock.sheets import work
        from shop.stock.things import THINGS

        concern.register("stock", concerns)
        happening.register("stock", happenings)
        lists.register("Stock", EXPORTS)
        registry.register("work out what to order", registry.each_ten_minutes, keep_figures)
        registry.register("compare lots", registry.each_hour, compare_every_hour)
        registry.register(work.JOB, registry.each_minute, work.carry_on_all)
        registry.register("forget old files", registry.each_day, work.forget_old_files)
        things.register("stock", THINGS)
