"""What the queue may ask of this room: to prepare a document."""

from __future__ import annotations

from typing import Any

from contractor.workqueue.handlers import WorkRefused, handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress
from reporting import services
from reporting.models import PAPERS


@handles(services.VISIT_REPORT)
def visit_report(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    paper = str(item.payload.get("paper", "a4"))
    if paper not in PAPERS:
        expected = " or ".join(PAPERS)
        raise WorkRefused("about:blank", "Unknown paper", f"{paper!r} is not a paper; expected {expected}.")
    try:
        document = services.prepare_visit_report(
            item.subject, paper, work_item=item, before_writing=progress.still_ours
        )
    except services.NothingAssessed:
        raise WorkRefused(
            "/api/v1/problems/nothing-assessed/",
            "Nothing to report yet",
            f"There is no assessment that stands for {item.subject}.",
        ) from None
    address = f"/api/v1/documents/{document.pk}/"
    return {
        "document": str(document.pk),
        "address": address,
        "file": f"{address}file/",
        "sha256": document.sha256,
    }
