from django.apps import AppConfig

from shop import concern, happening
from shop.carrying import lists


class DutiesConfig(AppConfig):
    name = "shop.duties"
    label = "duties"

    def ready(self) -> None:
        from shop.duties import concerns, effects, happenings, photos
        from shop.duties.exports import EXPORTS
        from shop.duties.starting import work_out_care
        from shop.duties.things import THINGS
        from shop.jobs import registry
        from shop.log import things
        from shop.people import starter

        concern.register("duties", concerns.concerns)
        happening.register("duties", happenings.happenings)
        lists.register("Care", EXPORTS)
        effects.register(effects.ResetMeter())
        starter.register_after("duties", work_out_care)
        registry.register("work out care", registry.each_hour, work_out_care)
        registry.register("clear photographs that belong to nothing", registry.each_day, photos.clear_unclaimed)
        things.register("duties", THINGS)
