"""What stands at / while the service has no pages: where a program finds its way."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

WORDS = """Waterside: fouling of refrigerant-to-water heat exchangers. Readings in, what to do next out.

There are no pages yet; programs find everything under /api/v1/.

  /api/v1/schema/     the description of the API (OpenAPI 3.1)
  /api/v1/sign-in/    POST e-mail, password and device; answers with a token
  /api/v1/problems/   what each kind of refusal means
  /healthz/ready      whether database and queue answer
"""


@login_not_required
@require_safe
def front(request: HttpRequest) -> HttpResponse:
    return HttpResponse(WORDS, content_type="text/plain; charset=utf-8")
