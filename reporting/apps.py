from django.apps import AppConfig


class ReportingConfig(AppConfig):
    name = "reporting"
    label = "reporting"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from reporting import tasks  # noqa: F401
