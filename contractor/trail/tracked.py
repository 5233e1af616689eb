"""A row whose every write leaves a Change in the same transaction; no two writers overwrite each other."""

from __future__ import annotations

import json
import uuid
from collections.abc import Collection, Mapping
from functools import cache
from typing import Any, Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models, router, transaction
from django.utils import timezone

from contractor.trail.actor import current_actor
from contractor.trail.models import Change

QUIET_COLUMNS = frozenset({"version", "created_at", "changed_at", "last_login"})
SECRET_COLUMNS = frozenset({"password"})


class Stale(Exception):
    """The row was changed by someone else after it was read; nothing was written."""


def plain(value: object) -> object:
    """A column's value as JSON can hold it."""
    if value is None or isinstance(value, bool | int | float | str | list | dict):
        return value
    return str(value)


@cache
def json_columns(model: type[models.Model]) -> tuple[str, ...]:
    return tuple(f.attname for f in model._meta.concrete_fields if isinstance(f, models.JSONField))


@cache
def file_columns(model: type[models.Model]) -> tuple[str, ...]:
    return tuple(f.attname for f in model._meta.concrete_fields if isinstance(f, models.FileField))


class Tracked(models.Model):
    """UUID key (a phone may make it), a version for If-Match, and a Change for every save and delete."""

    id = models.UUIDField(
        primary_key=True, default=uuid.uuid4, editable=False, help_text="identifier; the sender may make it"
    )
    version = models.PositiveIntegerField(
        default=1, editable=False, help_text="counts the changes; part of the ETag"
    )
    created_at = models.DateTimeField(
        default=timezone.now, editable=False, help_text="when the row was written first, UTC"
    )
    changed_at = models.DateTimeField(
        default=timezone.now, editable=False, help_text="when the row was written last, UTC"
    )

    class Meta:
        abstract = True

    _as_loaded: Mapping[str, Any]

    def save(self, **kwargs: Any) -> None:
        creating = self._state.adding
        action = Change.Action.CREATED if creating else Change.Action.CHANGED
        before = {} if creating else getattr(self, "_as_loaded", {})
        if not creating:
            self.version += 1
            self.changed_at = timezone.now()
            if kwargs.get("update_fields") is not None:
                kwargs["update_fields"] = {*kwargs["update_fields"], "version", "changed_at"}
        using = kwargs.get("using") or router.db_for_write(type(self), instance=self)
        try:
            with transaction.atomic(using=using):
                super().save(**kwargs)
                self._leave_change(action, before, kwargs.get("update_fields"))
        except Exception:
            if not creating:
                self.version -= 1
            raise
        self._remember(kwargs.get("update_fields"))

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        with transaction.atomic():
            self._leave_change(Change.Action.DELETED, self.__dict__)
            return super().delete(*args, **kwargs)

    @classmethod
    def from_db(cls, db: str | None, field_names: Any, values: Any, **more: Any) -> Self:
        row = super().from_db(db, field_names, values, **more)
        row._remember()
        return row

    def _remember(self, written: Collection[str] | None = None) -> None:
        """What the row holds now, or the written columns of it.

        Cheap, for it runs once a row read: only what can change in place is copied.
        """
        held = self.__dict__.copy()
        for name in json_columns(type(self)):
            if held.get(name):
                held[name] = json.loads(json.dumps(held[name], cls=DjangoJSONEncoder))
        for name in file_columns(type(self)):
            if name in held:
                held[name] = str(held[name] or "")
        if written is not None:
            names = {c.attname for c in self._meta.concrete_fields if {c.attname, c.name} & set(written)}
            held = {**self._as_loaded, **{name: held[name] for name in names}}
        self._as_loaded = held

    def refresh_from_db(self, *args: Any, **kwargs: Any) -> None:
        super().refresh_from_db(*args, **kwargs)
        self._remember()

    def _do_update(self, base_qs: Any, *more: Any) -> Any:
        """Only over the version that was read: a row changed by someone else since is not overwritten."""
        done = super()._do_update(base_qs.filter(version=self.version - 1), *more)
        if not done:
            raise Stale(f"{self._meta.label_lower} {self.pk} was changed since it was read")
        return done

    def _leave_change(
        self, action: str, before: Mapping[str, Any], written: Collection[str] | None = None
    ) -> None:
        after: Mapping[str, Any] = {} if action == Change.Action.DELETED else self.__dict__
        fields: dict[str, list[object]] = {}
        for column in self._meta.concrete_fields:
            name = column.attname
            if name in QUIET_COLUMNS or (name not in after and name not in before):
                continue
            if written is not None and not {name, column.name} & set(written):
                continue
            then, now = plain(before.get(name)), plain(after.get(name))
            if then != now:
                fields[name] = ["hidden", "hidden"] if name in SECRET_COLUMNS else [then, now]
        if fields or action != Change.Action.CHANGED:
            leave_change(self._meta.label_lower, self.pk, action, fields)


def leave_change(table: str, row_id: object, action: str, fields: Mapping[str, object]) -> None:
    """For writes that go past Tracked.save(): say what changed in the same transaction."""
    actor = current_actor()
    Change.objects.create(
        person_id=actor.person_id,
        by=actor.by,
        action=action,
        table=table,
        row_id=str(row_id),
        fields=dict(fields),
    )
