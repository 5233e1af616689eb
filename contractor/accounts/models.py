from __future__ import annotations

import hashlib
from datetime import datetime
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from contractor.trail.tracked import Tracked


class Role(models.TextChoices):
    OWNER = "owner"
    OFFICE = "office"
    TECHNICIAN = "technician"
    CLIENT = "client"


class PersonManager(BaseUserManager["Person"]):
    def create_user(self, email: str, password: str | None = None, **fields: Any) -> Person:
        person = self.model(email=email.strip().lower(), **fields)
        person.set_password(password)
        person.save()
        return person

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> Person:
        fields["role"] = Role.OWNER
        return self.create_user(email, password, **fields)

    def get_by_natural_key(self, username: str | None) -> Person:
        return self.get(email=(username or "").strip().lower())


class Person(Tracked, AbstractBaseUser):
    email = models.EmailField(max_length=254, unique=True)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Role)
    phone = models.CharField(max_length=40, blank=True)
    is_active = models.BooleanField(default=True)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]
    objects: ClassVar[PersonManager] = PersonManager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(email=Lower("email")), name="person_email_lower_case"),
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="person_role_known"),
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


def digest_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


class Token(models.Model):
    """A sign-in from a program or a phone. Only the digest of the secret is kept."""

    id = models.BigAutoField(primary_key=True)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=80, help_text="what the token is for, such as the phone's name")
    digest = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-id"]

    def __str__(self) -> str:
        return f"{self.person_id} {self.name}"

    def valid_at(self, now: datetime) -> bool:
        return self.withdrawn_at is None and now < self.expires_at
