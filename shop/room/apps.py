from django.apps import AppConfig


class RoomConfig(AppConfig):
    name = "shop.room"
    label = "room"

    def ready(self) -> None:
        from shop import concern, topic
        from shop.carrying import lists
        from shop.duties import effects
        from shop.jobs import registry
        from shop.log import things
        from shop.room import care, concerns, instrument_exports, silent
        from shop.room.exports import EXPORTS
        from shop.room.humid import count_humid_days
        from shop.room.outlook import keep_gas_forecast
        from shop.room.things import THINGS
        from shop.stock.ledger import register_owner

        concern.register("room", concerns.concerns)
        topic.register("services", concerns.TOPICS)
        topic.register("instruments", silent.TOPICS)
        lists.register("The room", (*EXPORTS, *instrument_exports.EXPORTS))
        effects.register(care.TakeStock())
        register_owner(care.owners)
        registry.register("count humid days", registry.each_hour, count_humid_days)
        things.register("room", THINGS)
        registry.register("work out for how long the gas lasts", registry.each_hour, keep_gas_forecast)
