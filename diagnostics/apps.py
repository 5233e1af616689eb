from celery.signals import import_modules
from django.apps import AppConfig


class DiagnosticsConfig(AppConfig):
    name = "diagnostics"
    label = "diagnostics"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from diagnostics import tasks  # noqa: F401
        from diagnostics.engine import property_library
        from diagnostics.growing import tasks as growing_tasks  # noqa: F401
        from diagnostics.ranking import tasks as ranking_tasks  # noqa: F401

        # a worker's parent: its processes share what was loaded before they were forked
        import_modules.connect(property_library.load, weak=False, dispatch_uid="property library")
