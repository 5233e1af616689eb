from django.conf import settings
from django.db import models


class Change(models.Model):
    """Who changed what and when: one row a write. `fields` maps a column to [before, after]."""

    class Action(models.TextChoices):
        CREATED = "created"
        CHANGED = "changed"
        DELETED = "deleted"

    id = models.BigAutoField(primary_key=True)
    at = models.DateTimeField(auto_now_add=True, db_index=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    by = models.CharField(max_length=80, help_text="the person's e-mail, or the program that wrote")
    action = models.CharField(max_length=10, choices=Action)
    table = models.CharField(max_length=80)
    row_id = models.CharField(max_length=40)
    fields = models.JSONField(default=dict)

    class Meta:
        indexes = [models.Index(fields=["table", "row_id", "id"], name="change_of_row")]
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.by} {self.action} {self.table} {self.row_id}"
