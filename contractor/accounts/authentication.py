"""Bearer tokens for programs and phones.

A disabled person's tokens stop working with the very next request.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from contractor.accounts.models import Person, Token, digest_of

NOTE_USE_EVERY = timedelta(minutes=5)


class BearerAuthentication(BaseAuthentication):
    def authenticate(self, request: Request) -> tuple[Person, Token] | None:
        parts = get_authorization_header(request).split()
        if not parts or parts[0].lower() != b"bearer":
            return None
        if len(parts) != 2:
            raise AuthenticationFailed("Expected 'Authorization: Bearer <token>'.")
        now = timezone.now()
        token = (
            Token.objects.select_related("person")
            .filter(digest=digest_of(parts[1].decode("latin-1")), withdrawn_at=None, expires_at__gt=now)
            .filter(person__is_active=True)
            .first()
        )
        if token is None:
            raise AuthenticationFailed("This token is not valid, or it has ended. Sign in again.")
        if token.last_used_at is None or now - token.last_used_at > NOTE_USE_EVERY:
            Token.objects.filter(pk=token.pk).update(last_used_at=now)
        return token.person, token

    def authenticate_header(self, request: Any) -> str:
        return 'Bearer realm="api"'
