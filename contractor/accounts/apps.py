from django.apps import AppConfig


class AccountsConfig(AppConfig):
    name = "contractor.accounts"
    label = "accounts"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.accounts import openapi  # noqa: F401
