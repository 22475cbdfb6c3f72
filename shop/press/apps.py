from django.apps import AppConfig


class PressConfig(AppConfig):
    name = "shop.press"
    label = "press"

    def ready(self) -> None:
        from shop.jobs import registry
        from shop.press.housekeeping import forget_old_presses

        registry.register("forget old presses", registry.each_day, forget_old_presses)
