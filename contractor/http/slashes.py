from django.http import HttpRequest
from django.middleware.common import CommonMiddleware


class SafeSlashMiddleware(CommonMiddleware):
    """Adds a missing slash for reads only: a redirected write would lose its content."""

    def should_redirect_with_slash(self, request: HttpRequest) -> bool:
        return request.method in ("GET", "HEAD") and bool(super().should_redirect_with_slash(request))
