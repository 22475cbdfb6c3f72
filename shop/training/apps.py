from django.apps import AppConfig


class TrainingConfig(AppConfig):
    name = "shop.training"
    label = "training"

    def ready(self) -> None:
        from shop import topic
        from shop.carrying import lists
        from shop.log import things
        from shop.people import authority, starter
        from shop.training import editions, queries
        from shop.training.concerns import TOPICS
        from shop.training.exports import EXPORTS
        from shop.training.programme_exports import PROGRAMME_EXPORTS
        from shop.training.things import THINGS

        authority.register_holders(queries.holders)
        authority.register_acts(queries.act_names)
        starter.register_after("training", editions.begin)
        topic.register("training", TOPICS)
        lists.register("Training", (*EXPORTS, *PROGRAMME_EXPORTS))
        things.register("training", THINGS)
