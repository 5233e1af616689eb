"""The API's description of itself, over the API."""

from __future__ import annotations

from functools import cache
from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView
from rest_framework.request import Request


class DescriptionView(SpectacularAPIView):
    """OpenAPI 3.1, as YAML or JSON by the Accept header."""

    @extend_schema(responses={200: OpenApiTypes.OBJECT})
    def get(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        renderer: Any = request.accepted_renderer
        return HttpResponse(written_by(renderer.__class__), content_type=renderer.media_type)


@cache
def written_by(renderer: Any) -> bytes:
    """The description as this renderer writes it: the same for everyone, so made once a process."""
    generator: Any = DescriptionView.generator_class()
    described = generator.get_schema(request=None, public=True)
    written = renderer().render(described)
    return written if isinstance(written, bytes) else str(written).encode()
