"""The frame around every request of the API: one transaction a write, the trail's actor, Idempotency-Key."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.db import transaction
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from contractor.http import idempotency
from contractor.http.parsers import refuse_too_much
from contractor.http.problems import Problem
from contractor.http.serializers import RoomSerializer
from contractor.trail.actor import acting_as

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
Handler = Callable[..., Response]


class Framed(APIView):
    """
    key_required      actions (or methods, for a plain view) that a phone makes: Idempotency-Key is compulsory
                      there and accepted on every other write
    takes_nothing     writes that ask for no content: what is sent all the same is refused by name
    one_transaction   False only where a failure must leave a trace (counting attempts to sign in)
    """

    key_required: ClassVar[frozenset[str]] = frozenset()
    takes_nothing: ClassVar[frozenset[str]] = frozenset()
    one_transaction: ClassVar[bool] = True

    def dispatch(self, request: Any, *args: Any, **kwargs: Any) -> Any:
        self.args, self.kwargs = args, kwargs
        request = self.initialize_request(request, *args, **kwargs)
        self.request, self.headers = request, self.default_response_headers
        try:
            refuse_too_much(request)
            self.initial(request, *args, **kwargs)
            response = self.carry_out(request, self.handler_for(request), *args, **kwargs)
        except Exception as exc:
            response = self.handle_exception(exc)
        self.response = self.finalize_response(request, response, *args, **kwargs)
        return self.response

    def handler_for(self, request: Request) -> Handler:
        name = (request.method or "").lower()
        if name not in self.http_method_names:
            return self.http_method_not_allowed
        return getattr(self, name, self.http_method_not_allowed)

    @property
    def doing(self) -> str:
        """The viewset's action, or a plain view's method."""
        return getattr(self, "action", None) or (self.request.method or "").lower()

    def carry_out(self, request: Request, handler: Handler, *args: Any, **kwargs: Any) -> Response:
        if request.method not in SAFE and self.doing in self.takes_nothing:
            RoomSerializer(data=request.data).is_valid(raise_exception=True)
        if request.method in SAFE or not self.one_transaction:
            return handler(request, *args, **kwargs)
        person: Any = request.user if request.user and request.user.is_authenticated else None
        key = idempotency.key_of(request) if person else ""
        if not key and self.doing in self.key_required:
            raise Problem("idempotency-key-missing")
        with acting_as(person.pk if person else None, person.email if person else "a stranger"):
            if key:
                return idempotency.once(
                    request, key, lambda: handler(request, *args, **kwargs), self.handle_exception
                )
            with transaction.atomic():
                return handler(request, *args, **kwargs)
