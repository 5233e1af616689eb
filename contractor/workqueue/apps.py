from django.apps import AppConfig


class WorkqueueConfig(AppConfig):
    name = "contractor.workqueue"
    label = "workqueue"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.workqueue import checks  # noqa: F401
