from django.apps import AppConfig


class MorningConfig(AppConfig):
    name = "shop.morning"
    label = "morning"

    def ready(self) -> None:
        from shop import concern
        from shop.carrying import lists
        from shop.cutting.queries import sides_by_day, sides_since
        from shop.cutting.stores import register_stores
        from shop.cutting.verdict import register_verdict
        from shop.log import things
        from shop.morning.concerns import NO_CHECK, concerns
        from shop.morning.cylinders import listed
        from shop.morning.exports import EXPORTS
        from shop.morning.plan import stores_until
        from shop.morning.queries import spoken_against
        from shop.morning.things import THINGS
        from shop.room.since import register_booked, register_sides
        from shop.safety.cylinders_here import register_listed
        from shop.watch.morning_mail import no_news

        concern.register("morning", concerns)
        lists.register("Checks", EXPORTS)
        register_sides(sides_since)
        register_booked(sides_by_day)
        register_verdict(spoken_against)
        register_stores(stores_until)
        register_listed(listed)
        no_news(NO_CHECK)  # at seven it is true on every day, Sundays among them
        things.register("morning", THINGS)
