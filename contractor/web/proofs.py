"""What the readings before and after a descale tell together."""

from __future__ import annotations

from typing import Any

from contractor.descales.models import Descale, Verification
from reporting import gathering
from reporting.documents import certificate


def proof_of(descale: Descale) -> dict[str, Any]:
    """What the readings before and after tell together, in the certificate's own words."""
    kept = Verification.objects.filter(descale=descale, superseded_at__isnull=True).first()
    if kept is None:
        return {"proof": None}
    told = certificate.in_words(gathering.certificate_of(descale))
    return {"proof": kept, "proof_told": told, "proof_cautions": kept.result.get("cautions", [])}
