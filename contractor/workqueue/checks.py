from typing import Any

from django.core.checks import CheckMessage, Error, register

from contractor.workqueue.handlers import HANDLERS
from contractor.workqueue.kinds import DECLARED


@register()
def every_kind_has_a_handler(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    return [
        Error(
            f"Work of kind {kind!r} ({meaning}) is queued but nothing handles it.",
            hint=f"Register @handles({kind!r}) in the ready() of the app that does it.",
            id="workqueue.E001",
        )
        for kind, meaning in sorted(DECLARED.items())
        if kind not in HANDLERS
    ]
