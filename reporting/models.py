from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from contractor.descales.models import Descale
from contractor.register.models import Exchanger, Site
from contractor.trail.tracked import Tracked
from contractor.visits.models import Visit
from contractor.workqueue.models import WorkItem
from diagnostics.models import Assessment, Ranking
from reporting.querysets import DocumentQuerySet

DESCALE_KINDS = ("job_sheet", "certificate", "notice")
KINDS = ("visit_report", *DESCALE_KINDS)
PAPERS = ("a4", "letter")
STATES = ("prepared", "released", "withdrawn")


def words(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, name.replace("_", " ")) for name in names]


class Document(Tracked):
    """A PDF prepared by a worker. Clients see released ones only."""

    kind = models.CharField(max_length=20, choices=words(KINDS), default="visit_report")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="documents")
    exchanger = models.ForeignKey(
        Exchanger, null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    visit = models.ForeignKey(
        Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    assessment = models.ForeignKey(
        Assessment, null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    ranking = models.ForeignKey(
        Ranking,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="documents",
        help_text="the ranking of causes it tells; empty where there was none",
    )
    descale = models.ForeignKey(
        Descale, null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    work_item = models.ForeignKey(
        WorkItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="documents"
    )
    title = models.CharField(max_length=200)
    paper = models.CharField(max_length=8, choices=words(PAPERS), default="a4")
    file = models.FileField(upload_to="documents/", help_text="named by its digest")
    sha256 = models.CharField(max_length=64)
    state = models.CharField(max_length=12, choices=words(STATES), default="prepared")
    prepared_at = models.DateTimeField(
        default=timezone.now, db_index=True, help_text="also stands in the file's properties"
    )
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    withdrawn_because = models.CharField(max_length=300, blank=True)

    objects = DocumentQuerySet.as_manager()

    class Meta:
        ordering = ["-prepared_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=KINDS), name="document_kind_known"),
            models.CheckConstraint(condition=Q(state__in=STATES), name="document_state_known"),
            models.UniqueConstraint(
                fields=["assessment", "paper", "sha256"],
                condition=~Q(state="withdrawn"),
                name="document_same_content_stands_once",
            ),
            models.UniqueConstraint(
                fields=["descale", "kind", "paper", "sha256"],
                condition=~Q(state="withdrawn"),
                name="document_of_descale_stands_once",
            ),
            models.CheckConstraint(condition=Q(paper__in=PAPERS), name="document_paper_known"),
            models.CheckConstraint(
                condition=~Q(kind__in=DESCALE_KINDS) | Q(descale__isnull=False),
                name="document_of_a_descale_names_it",
            ),
            models.CheckConstraint(
                condition=~Q(state="released") | Q(released_at__isnull=False, released_by__isnull=False),
                name="document_released_by_someone",
            ),
            models.CheckConstraint(
                condition=~Q(state="withdrawn")
                | Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False) & ~Q(withdrawn_because=""),
                name="document_withdrawn_by_someone_who_says_why",
            ),
        ]

    def __str__(self) -> str:
        return self.title
