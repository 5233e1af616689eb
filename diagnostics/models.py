from django.db import models
from django.db.models import Q

from contractor.register.models import Exchanger
from contractor.visits.models import Reading, Visit
from contractor.workqueue.models import WorkItem
from diagnostics.querysets import (
    AssessmentQuerySet,
    GrowthFitQuerySet,
    LoopSurveyQuerySet,
    RankingQuerySet,
)

VERDICTS = ("fouled", "clean", "undecided")
SURVEY_ANSWERS = ("the_loop", "these_units", "nearly_all_fouled")


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
    do_next = models.TextField(
        help_text="as the ranking of causes decides it, once there is one; until then the surface's own step"
    )
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


class Ranking(models.Model):
    """What is wrong, how sure, what to check next and why not acid yet, as one reading and the findings
    around it show it. Written once; a newer one supersedes it, the old one stays with the visit."""

    id = models.BigAutoField(primary_key=True)
    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="rankings")
    work_item = models.ForeignKey(
        WorkItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="rankings"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    engine_version = models.CharField(max_length=20)
    inputs_digest = models.CharField(max_length=64)
    superseded_at = models.DateTimeField(null=True, blank=True)
    superseded_because = models.CharField(max_length=200, blank=True)
    leading_cause = models.CharField(max_length=24)
    leading_probability = models.FloatField()
    fouled_probability = models.FloatField()
    next_check = models.CharField(max_length=24, blank=True)
    do_next = models.TextField()
    why_not_chemical = models.TextField(blank=True, help_text="empty where chemical work is reasonable")
    reopened = models.TextField(blank=True, help_text="what a descale in vain says of the cause")
    result = models.JSONField(help_text="causes with reasons, pairs, next check with what each outcome does")

    objects = RankingQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["reading"], condition=Q(superseded_at__isnull=True), name="ranking_one_current"
            ),
            models.CheckConstraint(
                condition=Q(leading_probability__gte=0.0, leading_probability__lte=1.0 + 1e-9),
                name="ranking_probability_is_one",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reading} {self.leading_cause}"

    @property
    def is_current(self) -> bool:
        return self.superseded_at is None and self.reading.superseded_at is None

    @property
    def chemical_is_reasonable(self) -> bool:
        return not self.why_not_chemical


class LoopSurvey(models.Model):
    """The short rows of one loop, read together on one visit. A newer one supersedes it."""

    id = models.BigAutoField(primary_key=True)
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="surveys")
    loop = models.CharField(max_length=60, blank=True, help_text="the loop's name; blank where none is given")
    work_item = models.ForeignKey(
        WorkItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="surveys"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    engine_version = models.CharField(max_length=20)
    inputs_digest = models.CharField(max_length=64)
    superseded_at = models.DateTimeField(null=True, blank=True)
    answer = models.CharField(max_length=24, choices=[(a, a) for a in SURVEY_ANSWERS])
    probability = models.FloatField()
    words = models.TextField()
    result = models.JSONField(help_text="probabilities, units worth gauges, units left out and why")

    objects = LoopSurveyQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "loop"],
                condition=Q(superseded_at__isnull=True),
                name="loopsurvey_one_current",
            ),
            models.CheckConstraint(condition=Q(answer__in=SURVEY_ANSWERS), name="loopsurvey_answer_known"),
        ]

    def __str__(self) -> str:
        return f"{self.visit} {self.loop} {self.answer}"

    @property
    def is_current(self) -> bool:
        return self.superseded_at is None


class GrowthFit(models.Model):
    """When an exchanger reaches its limit, by the laws its deposit grew by, with how sure that is. Written
    once; a newer one supersedes it. A moment that is empty is not within ten years."""

    id = models.BigAutoField(primary_key=True)
    exchanger = models.ForeignKey(Exchanger, on_delete=models.PROTECT, related_name="growth_fits")
    work_item = models.ForeignKey(
        WorkItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="growth_fits"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    engine_version = models.CharField(max_length=20)
    inputs_digest = models.CharField(max_length=64)
    superseded_at = models.DateTimeField(null=True, blank=True)
    readings = models.PositiveIntegerField(help_text="results that it rests on")
    unit = models.CharField(max_length=8, blank=True, help_text="of the limit: m2K/W or K/W")
    limit_value = models.FloatField()
    since = models.DateTimeField(null=True, blank=True, help_text="when deposit began to grow")
    law = models.CharField(max_length=16, blank=True, help_text="the law that fits best")
    reached_at = models.DateTimeField(null=True, blank=True, help_text="as likely before as after")
    reached_from = models.DateTimeField(null=True, blank=True, help_text="lower end of the 95 % interval")
    reached_until = models.DateTimeField(null=True, blank=True, help_text="upper end of the 95 % interval")
    probability_never = models.FloatField(null=True, blank=True)
    probability_beyond = models.FloatField(null=True, blank=True, help_text="later than in ten years")
    why_not = models.CharField(max_length=200, blank=True, help_text="why no date can be told")
    result = models.JSONField(help_text="days since then, and each law with its weight and parameters")

    objects = GrowthFitQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["exchanger"], condition=Q(superseded_at__isnull=True), name="growthfit_one_current"
            ),
            models.CheckConstraint(
                condition=~Q(why_not="") | Q(since__isnull=False), name="growthfit_date_or_why_not"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.exchanger} {self.said}"

    @property
    def said(self) -> str:
        """'about March 2027 (95 % interval: December 2026 to May 2028)', or why there is no date."""
        if self.why_not:
            return self.why_not
        if self.reached_from is None:
            return "not within ten years"
        low = f"{self.reached_from:%B %Y}"
        if self.reached_at is None:
            return f"likely not within ten years, and hardly before {low}"
        high = "beyond ten years" if self.reached_until is None else f"{self.reached_until:%B %Y}"
        return f"about {self.reached_at:%B %Y} (95 % interval: {low} to {high})"

    @property
    def rests_on(self) -> str:
        return f"{self.readings} results; {LAWS_SAID.get(self.law, self.law)} fits them best"


LAWS_SAID = {
    "linear": "even growth",
    "falling_rate": "growth that slows down",
    "asymptotic": "growth that comes to an end",
    "induction": "growth that waits before it begins",
}
