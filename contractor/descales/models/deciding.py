from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from contractor.descales.models.base import marks
from contractor.descales.querysets import DescaleQuerySet, NoticeQuerySet, OfDescaleQuerySet
from contractor.descales.states import OVER, STATES
from contractor.descales.words import COULD_NOT
from contractor.register.models import Cleaner, Exchanger, known, word
from contractor.trail.tracked import Tracked
from contractor.visits.models import Visit
from diagnostics.models import Assessment


class Descale(Tracked):
    """One exchanger's descale. What its water touches and carries is the register's to know."""

    exchanger = models.ForeignKey(Exchanger, on_delete=models.PROTECT, related_name="descales")
    state = word(tuple(STATES), default="recommended", max_length=14, editable=False)
    visit = models.ForeignKey(Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="descales")
    assessment = models.ForeignKey(
        Assessment, null=True, blank=True, on_delete=models.PROTECT, related_name="descales"
    )
    because = models.CharField(max_length=500, help_text="why it is recommended")
    recommended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", editable=False
    )
    instead_of = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="followed_by",
        help_text="the one that could not be done",
    )  # fmt: skip
    strainer_inside_valves = models.BooleanField(null=True, blank=True)
    vent_at_both_tops = models.BooleanField(
        null=True, blank=True, help_text="the vent stands at the top of both paths: flow may be reversed"
    )
    could_not_because = word(COULD_NOT, blank=True, max_length=24, editable=False)
    ended_because = models.CharField(max_length=300, blank=True, editable=False)
    ended_at = models.DateTimeField(null=True, blank=True, editable=False)
    end_called_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="the log said finished, and it was drained then"
    )

    objects = DescaleQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "id"]
        constraints = [
            known("state", tuple(STATES), "descale_state_known"),
            models.UniqueConstraint(
                "exchanger",
                condition=~Q(state__in=OVER),
                name="descale_one_open_an_exchanger",
                violation_error_message="This exchanger has a descale that is not over yet.",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=("called_off", "could_not_do")) | ~Q(ended_because=""),
                name="descale_ended_says_why",
            ),
            models.CheckConstraint(
                condition=Q(instead_of__isnull=True) | ~Q(instead_of=F("id")), name="descale_not_after_itself"
            ),
        ]
        indexes = [models.Index(fields=["state", "created_at"], name="descale_by_state")]

    def __str__(self) -> str:
        return f"descale of {self.exchanger}"


class Price(Tracked):
    """What the office asks for it. A later one takes the place of an earlier."""

    descale = models.ForeignKey(Descale, on_delete=models.PROTECT, related_name="prices")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    currency = models.CharField(max_length=3, help_text="ISO 4217, such as EUR")
    words = models.CharField(max_length=500, blank=True)

    objects = OfDescaleQuerySet["Price"].as_manager()

    class Meta:
        ordering = ["-at", "id"]
        constraints = [models.CheckConstraint(condition=Q(amount__gte=0), name="price_not_negative")]

    def __str__(self) -> str:
        return f"{self.amount} {self.currency}"


class Consent(Tracked):
    """The customer's yes, as the office recorded it."""

    descale = models.OneToOneField(Descale, on_delete=models.PROTECT, related_name="consent")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    said_by = models.CharField(max_length=120, help_text="who said yes for the customer")
    said_at = models.DateTimeField(help_text="when they said so")
    order_number = models.CharField(max_length=80, blank=True)
    quiet_hours_too = models.BooleanField(
        default=False, help_text="the customer agrees to the pump's noise in quiet hours"
    )
    marks = marks()

    objects = OfDescaleQuerySet["Consent"].as_manager()

    class Meta:
        ordering = ["-said_at", "id"]
        constraints = [models.CheckConstraint(condition=~Q(said_by=""), name="consent_by_someone")]

    def __str__(self) -> str:
        return f"{self.said_by} {self.said_at:%Y-%m-%d}"


class Notice(Tracked):
    """What the client is told before the work. A later one takes the place of an earlier."""

    descale = models.ForeignKey(Descale, on_delete=models.PROTECT, related_name="notices")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    work_starts_at = models.DateTimeField()
    hours_without_cooling = models.FloatField(help_text="h")
    chemical = models.CharField(max_length=200, help_text="kind of cleaner; its sheet goes along")
    noise = models.CharField(max_length=300, help_text="what will be heard, and when")
    others_affected = models.CharField(max_length=300, help_text="other units that stand still meanwhile")
    cleaner = models.ForeignKey(
        Cleaner, null=True, blank=True, on_delete=models.PROTECT, related_name="+", editable=False,
        help_text="of the plan; its label and safety data sheet go along",
    )  # fmt: skip
    sent_to = models.CharField(
        max_length=1000, blank=True, help_text="who was told, and how; the addresses of the e-mail are added"
    )
    emailed_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = NoticeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(hours_without_cooling__gte=0), name="notice_hours_not_negative"
            ),
            models.CheckConstraint(condition=~Q(chemical=""), name="notice_names_the_chemical"),
        ]

    def __str__(self) -> str:
        return f"notice of {self.work_starts_at:%Y-%m-%d %H:%M}"
