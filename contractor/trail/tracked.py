"""A row whose every write leaves a Change in the same transaction."""

import uuid
from typing import Any, Self

from django.db import models, router, transaction
from django.utils import timezone

from contractor.trail.actor import current_actor
from contractor.trail.models import Change

QUIET_COLUMNS = frozenset({"version", "created_at", "changed_at", "password", "last_login"})


def plain(value: object) -> object:
    """A column's value as JSON can hold it."""
    if value is None or isinstance(value, bool | int | float | str | list | dict):
        return value
    return str(value)


class Tracked(models.Model):
    """UUID key (a phone may make it), a version for If-Match, and a Change for every save and delete."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    changed_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True

    _as_loaded: dict[str, object]

    @classmethod
    def from_db(cls, db: str | None, field_names: Any, values: Any) -> Self:
        row = super().from_db(db, field_names, values)
        row._as_loaded = row._columns_now()
        return row

    def _columns_now(self) -> dict[str, object]:
        deferred = self.get_deferred_fields()
        return {
            f.attname: plain(getattr(self, f.attname))
            for f in self._meta.concrete_fields
            if f.attname not in deferred
        }

    def save(self, **kwargs: Any) -> None:
        creating = self._state.adding
        before = {} if creating else getattr(self, "_as_loaded", {})
        if not creating:
            self.version += 1
            self.changed_at = timezone.now()
            if kwargs.get("update_fields") is not None:
                kwargs["update_fields"] = {*kwargs["update_fields"], "version", "changed_at"}
        using = kwargs.get("using") or router.db_for_write(type(self), instance=self)
        with transaction.atomic(using=using):
            super().save(**kwargs)
            after = self._columns_now()
            self._leave_change(Change.Action.CREATED if creating else Change.Action.CHANGED, before, after)
        self._as_loaded = after

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        with transaction.atomic():
            self._leave_change(Change.Action.DELETED, self._columns_now(), {})
            return super().delete(*args, **kwargs)

    def _leave_change(self, action: str, before: dict[str, object], after: dict[str, object]) -> None:
        fields = {
            name: [before.get(name), after.get(name)]
            for name in {**before, **after}
            if name not in QUIET_COLUMNS and before.get(name) != after.get(name)
        }
        if not fields and action == Change.Action.CHANGED:
            return
        actor = current_actor()
        Change.objects.create(
            person_id=actor.person_id,
            by=actor.by,
            action=action,
            table=self._meta.label_lower,
            row_id=str(self.pk),
            fields=fields,
        )
