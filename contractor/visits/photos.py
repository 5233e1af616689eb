"""Photos are decoded and written anew: no position, camera or hidden payload of the file is kept."""

from __future__ import annotations

import io
import warnings

from django.core.files.base import ContentFile, File
from PIL import Image, ImageOps, UnidentifiedImageError

from contractor.http.problems import Problem

LARGEST_BYTES = 8 * 1024 * 1024
LARGEST_PIXELS = 50_000_000
LONGEST_SIDE = 2560
FORMATS = ("JPEG", "PNG", "WEBP")
EXPECTED = "a JPEG, PNG or WebP picture of at most 8 MB and 50 million pixels"


def cleaned(upload: File[bytes]) -> ContentFile[bytes]:
    """The picture as a fresh JPEG, upright, at most 2560 pixels on a side; a Problem on anything else."""
    if upload.size is not None and upload.size > LARGEST_BYTES:
        raise refused(f"the file has {upload.size / 1024 / 1024:.1f} MB")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(upload, formats=FORMATS)
            if picture.width * picture.height > LARGEST_PIXELS:
                raise refused(f"the picture has {picture.width} x {picture.height} pixels")
            picture.load()
            upright = ImageOps.exif_transpose(picture)
    except (UnidentifiedImageError, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise refused("the file is no such picture") from error
    except (OSError, SyntaxError, ValueError) as error:
        raise refused("the picture is broken or cut short") from error
    return _as_jpeg(upright)


def _as_jpeg(picture: Image.Image) -> ContentFile[bytes]:
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    flat = Image.new("RGB", picture.size, "white")
    shown = picture.convert("RGBA")
    flat.paste(shown, mask=shown.getchannel("A"))
    out = io.BytesIO()
    flat.save(out, "JPEG", quality=85, optimize=True)
    return ContentFile(out.getvalue())


def refused(reason: str) -> Problem:
    detail = f"The photo cannot be kept: {reason}; expected {EXPECTED}."
    return Problem("invalid", detail, errors=[{"pointer": "/photo", "detail": detail}])
