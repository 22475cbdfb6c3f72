from django.apps import AppConfig


class WatchConfig(AppConfig):
    name = "shop.watch"
    label = "watch"

    def ready(self) -> None:
        from shop import concern
        from shop.carrying import lists
        from shop.jobs import registry
        from shop.watch import concerns, sweep, work
        from shop.watch.exports import EXPORTS

        concern.register("watch", concerns.concerns)
        lists.register("Alerts", EXPORTS)
        registry.register(sweep.SWEEP, registry.each_five_minutes, work.sweep_the_room)
        registry.register("watch: morning mail", registry.each_five_minutes, work.want_morning_mails)
        registry.register("watch: deliveries", registry.each_minute, work.send_what_is_due)
        registry.register("watch: calendar", registry.each_five_minutes, work.bring_calendar_up_to_date)
