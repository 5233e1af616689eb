from django.apps import AppConfig


class FaultsConfig(AppConfig):
    """Kinds of work that fail in every way, for tests only."""

    name = "tests.faults"
    label = "faults"

    def ready(self) -> None:
        from tests.faults import kinds  # noqa: F401
