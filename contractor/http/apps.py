from django.apps import AppConfig


class HttpConfig(AppConfig):
    name = "contractor.http"
    label = "http"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.http import openapi  # noqa: F401
