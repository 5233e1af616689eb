from django.db import models
from django.db.models import Q

from contractor.visits.models import Reading
from contractor.workqueue.models import WorkItem
from diagnostics.querysets import AssessmentQuerySet

VERDICTS = ("fouled", "clean", "undecided")


class Assessment(models.Model):
    """What the engine said of one reading. Written once; a newer one supersedes it, the old one stays."""

    id = models.BigAutoField(primary_key=True)
    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="assessments")
    work_item = models.ForeignKey(
        WorkItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="assessments"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    engine_version = models.CharField(max_length=20)
    inputs_digest = models.CharField(max_length=64)
    superseded_at = models.DateTimeField(null=True, blank=True)
    superseded_because = models.CharField(max_length=200, blank=True)
    verdict = models.CharField(max_length=10, choices=[(v, v) for v in VERDICTS])
    probability_over_limit = models.FloatField(null=True, blank=True)
    excess_approach_k = models.FloatField(null=True, blank=True)
    cleanliness = models.FloatField(null=True, blank=True)
    fouling_m2k_per_w = models.FloatField(null=True, blank=True)
    fouling_low_m2k_per_w = models.FloatField(null=True, blank=True)
    fouling_high_m2k_per_w = models.FloatField(null=True, blank=True)
    fouling_k_per_w = models.FloatField(null=True, blank=True)
    do_next = models.TextField()
    result = models.JSONField(help_text="the whole answer, as the batch command prints it")

    objects = AssessmentQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["reading"], condition=Q(superseded_at__isnull=True), name="assessment_one_current"
            ),
            models.CheckConstraint(condition=Q(verdict__in=VERDICTS), name="assessment_verdict_known"),
            models.CheckConstraint(
                condition=Q(verdict="undecided") | Q(probability_over_limit__isnull=False),
                name="assessment_verdict_has_probability",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reading} {self.verdict}"

    @property
    def is_current(self) -> bool:
        return self.superseded_at is None and self.reading.superseded_at is None
