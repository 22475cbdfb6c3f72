from django.apps import AppConfig


class LogConfig(AppConfig):
    name = "shop.log"
    label = "log"

    def ready(self) -> None:
        from django.db.models import Value

        from shop.carrying import lists
        from shop.log import things
        from shop.log.exports import EXPORTS
        from shop.log.models import Note

        lists.register("The log", EXPORTS)
        called = things.joined(Value("Note "), "pk")
        things.register("log", [things.Sort("note", "Note", Note, "log:note", "text", called, is_found=False)])
