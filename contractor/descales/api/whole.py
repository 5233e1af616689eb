"""The whole record of a descale in one answer, in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from contractor.descales import services
from contractor.descales.api import answers, telling
from contractor.descales.models import (
    Batch,
    Check,
    Consent,
    Descale,
    Discharge,
    EndStep,
    HeldWaste,
    Look,
    NeutralisingPortion,
    Notice,
    Portion,
    Price,
    SignOff,
    Verification,
)


def record_of(descale: Descale, context: Mapping[str, Any]) -> dict[str, Any]:
    """Every record of a descale by kind, as the API shows each."""
    kinds: dict[str, tuple[Any, Any]] = {
        "prices": (Price, answers.PriceSerializer),
        "consents": (Consent, answers.ConsentSerializer),
        "notices": (Notice, answers.NoticeSerializer),
        "checks": (Check, telling.CheckSerializer),
        "batches": (Batch, telling.BatchSerializer),
        "portions": (Portion, telling.PortionSerializer),
        "looks": (Look, telling.LookSerializer),
        "end_steps": (EndStep, telling.EndStepSerializer),
        "neutralising": (NeutralisingPortion, telling.NeutralisingSerializer),
        "discharges": (Discharge, telling.DischargeSerializer),
        "held_waste": (HeldWaste, telling.HeldWasteSerializer),
        "sign_offs": (SignOff, telling.SignOffSerializer),
        "verifications": (Verification, answers.VerificationSerializer),
    }
    shown: dict[str, Any] = {"descale": answers.DescaleSerializer(descale, context=context).data}
    plan = services.current_plan(descale)
    shown["plan"] = answers.PlanSerializer(plan, context=context).data if plan else None
    for name, (model, serializer) in kinds.items():
        rows = model.objects.filter(descale=descale)
        if name == "notices":
            rows = rows.select_related("descale__exchanger__unit", "cleaner")
        shown[name] = serializer(rows, many=True, context=context).data
    return shown
