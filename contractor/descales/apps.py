from django.apps import AppConfig


class DescalesConfig(AppConfig):
    name = "contractor.descales"
    label = "descales"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.descales import tasks  # noqa: F401
