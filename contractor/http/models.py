from django.conf import settings
from django.db import models


class KeptAnswer(models.Model):
    """The first answer to a write that carried an Idempotency-Key; a repeat gets it again."""

    id = models.BigAutoField(primary_key=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=80)
    method = models.CharField(max_length=8)
    path = models.CharField(max_length=300)
    fingerprint = models.CharField(max_length=64, help_text="sha256 of the canonical body")
    status = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="empty while the first still runs"
    )
    headers = models.JSONField(default=dict)
    body = models.TextField(blank=True, help_text="the answer's JSON, as it was sent")
    created_at = models.DateTimeField(auto_now_add=True, db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "key"], name="keptanswer_key_once_a_person")]

    def __str__(self) -> str:
        return f"{self.method} {self.path} {self.key}"


class RefusedPost(models.Model):
    """What somebody's phone sent and the service did not take, until it arrives mended under its key."""

    id = models.BigAutoField(primary_key=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=80)
    path = models.CharField(max_length=300)
    status = models.PositiveSmallIntegerField()
    reason = models.CharField(max_length=300, help_text="as the phone was told")
    refused_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "key"], name="refusedpost_key_once_a_person")
        ]

    def __str__(self) -> str:
        return f"{self.path} {self.status}"
