from __future__ import annotations

import hashlib
from datetime import datetime
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.password_validation import validate_password
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac

from contractor.trail.tracked import Tracked


class Role(models.TextChoices):
    OWNER = "owner"
    OFFICE = "office"
    TECHNICIAN = "technician"
    CLIENT = "client"


class Units(models.TextChoices):
    """How the pages show numbers to a person. What is typed may come in any unit."""

    INCH_POUND = "inch_pound", "inch-pound (°F, psig, gpm)"
    SI = "si", "SI (°C, kPa, L/s)"


class DecimalMark(models.TextChoices):
    """How the pages write numbers, and read what might be either."""

    POINT = "point", "85.2"
    COMMA = "comma", "85,2"


class PersonQuerySet(models.QuerySet["Person"]):
    def seen_by(self, person: Person) -> PersonQuerySet:
        """The owner sees everyone, the office the crew and itself, everyone else only themselves."""
        if person.is_owner:
            return self
        if person.is_office:
            return self.filter(Q(role=Role.TECHNICIAN) | Q(pk=person.pk))
        return self.filter(pk=person.pk)


class PersonManager(BaseUserManager["Person"].from_queryset(PersonQuerySet)):  # type: ignore[misc]
    def create_user(self, email: str, password: str | None = None, **fields: Any) -> Person:
        person: Person = self.model(email=email.strip().lower(), **fields)
        person.set_password(password)
        person.save()
        return person

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> Person:
        """The first owner, by `manage.py createsuperuser`, which tells what is wrong with the password."""
        fields["role"] = Role.OWNER
        if password is not None:
            validate_password(password, self.model(email=email, **fields))
        return self.create_user(email, password, **fields)

    def get_by_natural_key(self, username: str | None) -> Person:
        found: Person = self.get(email=(username or "").strip().lower())
        return found


class Person(Tracked, AbstractBaseUser):
    email = models.EmailField(max_length=254, unique=True, help_text="e-mail address, used to sign in")
    name = models.CharField(max_length=120, help_text="as others see it")
    role = models.CharField(max_length=12, choices=Role, help_text="what the person may see and do")
    phone = models.CharField(max_length=40, blank=True, help_text="telephone number")
    is_active = models.BooleanField(default=True, help_text="false ends every sign-in at once")
    units = models.CharField(
        max_length=12, choices=Units, default=Units.INCH_POUND, help_text="units in which pages show numbers"
    )
    decimal_mark = models.CharField(
        max_length=8,
        choices=DecimalMark,
        default=DecimalMark.POINT,
        help_text="what stands before the decimals on pages",
    )
    sessions_ended = models.PositiveIntegerField(
        default=0, editable=False, help_text="counted up to end every session of the pages at once"
    )

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]
    objects: ClassVar[PersonManager] = PersonManager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(email=Lower("email")), name="person_email_lower_case"),
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="person_role_known"),
            models.CheckConstraint(condition=models.Q(units__in=Units.values), name="person_units_known"),
            models.CheckConstraint(
                condition=models.Q(decimal_mark__in=DecimalMark.values), name="person_decimal_mark_known"
            ),
        ]
        ordering = ["email"]

    def __str__(self) -> str:
        return self.name or self.email

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER

    @property
    def is_office(self) -> bool:
        """Office rights: the owner has them too."""
        return self.role in (Role.OFFICE, Role.OWNER)

    @property
    def is_technician(self) -> bool:
        return self.role == Role.TECHNICIAN

    @property
    def is_client(self) -> bool:
        return self.role == Role.CLIENT

    # what the admin site asks: it is the owner's alone
    @property
    def is_staff(self) -> bool:
        return self.is_owner

    @property
    def is_superuser(self) -> bool:
        return self.is_owner

    def has_perm(self, perm: str, obj: object = None) -> bool:
        return self.is_active and self.is_owner

    def has_module_perms(self, app_label: str) -> bool:
        return self.is_active and self.is_owner

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Sessions end with a changed password, and whenever `sessions_ended` counts up."""
        content = f"{self.password}:{self.sessions_ended}"
        return salted_hmac("accounts.Person.session", content, secret=secret, algorithm="sha256").hexdigest()


CERTIFICATE_KINDS = ("chemical_work", "refrigerant_handling", "first_aid", "confined_space", "electrical")


class CertificateQuerySet(models.QuerySet["Certificate"]):
    def seen_by(self, person: Person) -> CertificateQuerySet:
        """The office sees those of the people it sees, everyone else their own."""
        return self.filter(person__in=Person.objects.seen_by(person))

    def last_of_each_kind(self) -> CertificateQuerySet:
        """Of a person's certificates of one kind the one that holds longest."""
        longer = type(self)(self.model).filter(
            person=OuterRef("person"), kind=OuterRef("kind"), expires_on__gt=OuterRef("expires_on")
        )
        return self.filter(~Exists(longer))


class Certificate(Tracked):
    """What a person may do by a paper, and until when. A renewed one is a row of its own.

    Which work wants which paper is for local rules to say; here only its dates are kept and heeded.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="certificates")
    kind = models.CharField(
        max_length=24,
        choices=[(kind, kind.replace("_", " ")) for kind in CERTIFICATE_KINDS],
        help_text="what it is for; chemical_work is asked of the crew that brings acid",
    )
    number = models.CharField(max_length=80, blank=True, help_text="as on the paper")
    expires_on = models.DateField(help_text="last day on which it holds")

    objects: ClassVar[CertificateQuerySet] = CertificateQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["person", "kind", "-expires_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=CERTIFICATE_KINDS), name="certificate_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.get_kind_display()}"


def digest_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


class TokenQuerySet(models.QuerySet["Token"]):
    def seen_by(self, person: Person) -> TokenQuerySet:
        """One's own; the owner sees everyone's, to withdraw a lost phone's."""
        return self if person.is_owner else self.filter(person=person)

    def valid_at(self, now: datetime) -> TokenQuerySet:
        return self.filter(withdrawn_at=None, expires_at__gt=now, person__is_active=True)


class Token(models.Model):
    """A sign-in from a program or a phone. Only the digest of the secret is kept."""

    id = models.BigAutoField(primary_key=True)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=80, help_text="what the token is for, such as the phone's name")
    digest = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(auto_now_add=True, help_text="when it was made, UTC")
    expires_at = models.DateTimeField(help_text="when it ends by itself, UTC")
    last_used_at = models.DateTimeField(
        null=True, blank=True, help_text="last use, to about five minutes, UTC"
    )
    withdrawn_at = models.DateTimeField(
        null=True, blank=True, help_text="when it was withdrawn, UTC; null while it holds"
    )

    objects: ClassVar[TokenQuerySet] = TokenQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-created_at", "-id"]

    def __str__(self) -> str:
        return f"{self.person_id} {self.name}"

    def valid_at(self, now: datetime) -> bool:
        return self.withdrawn_at is None and now < self.expires_at


class PageSession(models.Model):
    """A sign-in to the pages, so that its person can see it and end it. The session itself is Django's."""

    id = models.BigAutoField(primary_key=True)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="page_sessions")
    session_key = models.CharField(max_length=40, unique=True)
    device = models.CharField(max_length=200, blank=True, help_text="what the browser says it is")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-created_at", "-id"]

    def __str__(self) -> str:
        return f"{self.person_id} {self.device}"


class SignInCount(models.Model):
    """Attempts to sign in, counted a window of time by account, by place, and by both. Keys are digests."""

    key = models.CharField(max_length=64, primary_key=True)
    count = models.PositiveIntegerField()
    window_ends_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{self.key[:8]} {self.count}"
