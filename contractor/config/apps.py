from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Has no tables; it is an app so that its checks run."""

    name = "contractor.config"
    label = "config"

    def ready(self) -> None:
        from contractor.config import checks  # noqa: F401
