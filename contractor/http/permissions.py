"""Who may do what: each view declares its roles an action, and what it does not declare is denied."""

from typing import Any, Protocol, cast

from rest_framework.exceptions import MethodNotAllowed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

OWNER = frozenset({"owner"})
OFFICE = frozenset({"owner", "office"})
CREW = frozenset({"owner", "office", "technician"})
EVERYONE = frozenset({"owner", "office", "technician", "client"})
NOBODY: frozenset[str] = frozenset()


class HasRole(Protocol):
    role: str


class SignedIn(BasePermission):
    """The default of every API view: a person with an active sign-in."""

    def has_permission(self, request: Request, view: Any) -> bool:
        return bool(request.user and request.user.is_authenticated)


class RoleRules(SignedIn):
    """`may = {"list": EVERYONE, "create": OFFICE}` on the view. Unseen is 404, seen but not allowed is 403.

    On a detail address the row is looked up first, so that a stranger cannot tell a forbidden row from none.
    """

    def has_permission(self, request: Request, view: Any) -> bool:
        if not super().has_permission(request, view):
            return False
        action = getattr(view, "action", None)
        if action in (None, "metadata"):  # this address does not know the method
            raise MethodNotAllowed(str(request.method))
        role = cast(HasRole, request.user).role
        if action in view.may and role in view.may[action]:
            return True
        if getattr(view, "detail", False) and action in view.may:
            view.get_object_or_404()
        return False
