from django.apps import AppConfig


class RecordConfig(AppConfig):
    name = "shop.record"
    label = "record"

    def ready(self) -> None:
        from shop import concern
        from shop.carrying import lists
        from shop.jobs import registry
        from shop.record import concerns
        from shop.record.exports import EXPORTS
        from shop.record.looking import look_through

        concern.register("record", concerns.concerns)
        lists.register("Record", EXPORTS)
        registry.register("look through the record", registry.each_day, look_through)
