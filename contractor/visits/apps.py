from django.apps import AppConfig


class VisitsConfig(AppConfig):
    name = "contractor.visits"
    label = "visits"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.visits import notices, receivers  # noqa: F401
