from django.apps import AppConfig


class RoomConfig(AppConfig):
    name = "shop.room"
    label = "room"

    def ready(self) -> None:
        from shop import concern
        from shop.carrying import lists
        from shop.duties import effects
        from shop.jobs import registry
        from shop.log import things
        from shop.room import care, concerns
        from shop.room.exports import EXPORTS
        from shop.room.humid import count_humid_days
        from shop.room.things import THINGS
        from shop.stock.ledger import register_owner

        concern.register("room", concerns.concerns)
        lists.register("The room", EXPORTS)
        effects.register(care.TakeStock())
        register_owner(care.owners)
        registry.register("count humid days", registry.each_hour, count_humid_days)
        things.register("room", THINGS)
