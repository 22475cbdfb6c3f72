from django.apps import AppConfig


class RecordConfig(AppConfig):
    name = "shop.record"
    label = "record"

    def ready(self) -> None:
        from shop import topic
        from shop.carrying import lists
        from shop.jobs import registry
        from shop.record.concerns import TOPICS
        from shop.record.exports import EXPORTS
        from shop.record.looking import look_through

        topic.register("record", TOPICS)
        lists.register("Record", EXPORTS)
        registry.register("look through the record", registry.each_day, look_through)
