"""Papers of a record: sent as a multipart form with the part `file`, given back as a file to keep."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.http import FileResponse
from drf_spectacular.utils import OpenApiResponse
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.parsers import MultiPartParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request

from contractor.http.problems import Problem
from contractor.http.serializers import RoomSerializer
from contractor.register.papers import EXPECTED, LARGEST_BYTES, MEDIA_TYPES

AROUND_A_FILE = 64 * 1024


class PaperSerializer(RoomSerializer):
    file = serializers.FileField(help_text=EXPECTED)


class PaperRenderer(BaseRenderer):
    media_type, format, charset, render_style = "application/pdf", "pdf", None, "binary"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> Any:
        return JSONRenderer().render(data)


PAPER_RENDERERS = [JSONRenderer, PaperRenderer]
PAPER_ANSWERS = {
    (200, media_type): OpenApiResponse(bytes, description="the file") for media_type in MEDIA_TYPES.values()
}
PAPER_SENT = {"multipart/form-data": PaperSerializer}


class TakesPapers:
    """Actions named `put_...` take a file; one that is too large is refused by the length that is stated."""

    def initial(self: Any, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)  # type: ignore[misc]
        length = int(request.META.get("CONTENT_LENGTH") or 0)
        if str(self.action).startswith("put_") and length > LARGEST_BYTES + AROUND_A_FILE:
            raise Problem(status=413, detail=f"The file is too large; expected {EXPECTED}.")

    def get_parsers(self: Any) -> list[Any]:
        posting = str(getattr(self, "action_map", {}).get("post")).startswith("put_")
        if self.request is not None and posting:
            return [MultiPartParser()]
        parsers: list[Any] = super().get_parsers()  # type: ignore[misc]
        return parsers


def sent_file(request: Request) -> Any:
    sent = PaperSerializer(data=request.data)
    sent.is_valid(raise_exception=True)
    return sent.validated_data["file"]


def as_file(kept: Any, name: str) -> FileResponse:
    if not kept:
        raise NotFound(f"No {name.replace('-', ' ')} is on file here.")
    ending = Path(kept.name).suffix.lstrip(".")
    file = FileResponse(
        kept.open("rb"), as_attachment=True, filename=f"{name}.{ending}", content_type=MEDIA_TYPES[ending]
    )
    file["Cache-Control"] = "private, max-age=3600"
    file["Content-Security-Policy"] = "default-src 'none'; sandbox"
    file["X-Content-Type-Options"] = "nosniff"
    return file
