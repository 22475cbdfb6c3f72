from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "shop.people"
    label = "people"

    def ready(self) -> None:
        from shop import concern
        from shop.jobs import registry
        from shop.people import brakes, concerns, doors

        concern.register("people", concerns.concerns)
        registry.register("forget old brakes", registry.each_day, brakes.forget_old)
        registry.register("forget old sign-ins", registry.each_day, doors.forget_old_sign_ins)
