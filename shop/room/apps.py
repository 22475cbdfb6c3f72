from django.apps import AppConfig


class RoomConfig(AppConfig):
    name = "shop.room"
    label = "room"

    def ready(self) -> None:
        from shop import concern
        from shop.room import concerns

        concern.register("room", concerns.concerns)
