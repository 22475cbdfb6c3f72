from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "shop.jobs"
    label = "jobs"

    def ready(self) -> None:
        from shop.jobs import checks, housekeeping, registry

        registry.register("clear ended sessions", registry.each_day, housekeeping.clear_ended_sessions)
        registry.register("forget old runs", registry.each_day, housekeeping.forget_old_runs)
        checks.register_all()
