"""A descale from decision to certificate. What happened on site is kept as told, with marks beside it."""

from contractor.descales.models.base import Happening
from contractor.descales.models.deciding import Consent, Descale, Notice, Price
from contractor.descales.models.ending import (
    Discharge,
    EndStep,
    HeldWaste,
    NeutralisingPortion,
    SignOff,
    Verification,
)
from contractor.descales.models.planning import DescalePlan
from contractor.descales.models.running import Batch, Check, Look, Portion

__all__ = [
    "Batch",
    "Check",
    "Consent",
    "Descale",
    "DescalePlan",
    "Discharge",
    "EndStep",
    "Happening",
    "HeldWaste",
    "Look",
    "NeutralisingPortion",
    "Notice",
    "Portion",
    "Price",
    "SignOff",
    "Verification",
]
