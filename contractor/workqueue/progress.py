"""What a handler says while it works. A worker whose claim is lost is told so instead of being believed."""

from __future__ import annotations

from uuid import UUID

from django.db import transaction
from django.utils import timezone

from contractor.workqueue.models import WorkItem


class ClaimLost(Exception):
    """Another worker has taken this item over: stop, write nothing."""


class Progress:
    def __init__(self, item_id: UUID, claim: UUID) -> None:
        self.item_id, self.claim = item_id, claim

    def tell(self, done: int, of: int, words: str = "") -> None:
        """How far the work is; counts as a heartbeat."""
        changed = WorkItem.objects.held_by(self.item_id, self.claim).update(
            progress_done=done, progress_of=of, progress_words=words[:200], heartbeat_at=timezone.now()
        )
        if not changed:
            raise ClaimLost(str(self.item_id))

    def still_ours(self) -> None:
        """Call first inside the transaction that writes the results: holds the claim until it commits."""
        if not transaction.get_connection().in_atomic_block:
            raise RuntimeError("still_ours() holds the claim for a transaction; call it inside one")
        held = WorkItem.objects.held_by(self.item_id, self.claim).select_for_update().values_list("pk")
        if not list(held):
            raise ClaimLost(str(self.item_id))
