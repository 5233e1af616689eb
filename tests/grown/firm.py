"""A small contractor in the grown setting, made over the API by its first owner, and what its gauges show."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from contractor.demo.as_typed import SHOWN
from diagnostics.engine.forward import (
    ExchangerTruth,
    OperatingPoint,
    UnitTruth,
    reading_of,
    solve,
    with_fouling,
)
from tests.grown.by_hand import Grown
from tests.grown.client import Client

PASSWORD = "kettle harbour lantern nine"
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
MACHINE = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))


def as_si_typed(fouling_m2k_per_w: float, entering_water_k: float, when: datetime) -> dict[str, Any]:
    """What instruments without error would show of a machine with a known fouling, typed in SI."""
    point = OperatingPoint("cooling", entering_water_k, water_flow_kg_per_s=0.55, heat_w=12_500.0)
    read = reading_of(solve(with_fouling(MACHINE, fouling_m2k_per_w), point), unit="HP-1", taken_at=when)
    units = {
        "temperature": "K",
        "water_flow": "kg/s",
        "pressure_difference": "Pa",
        "refrigerant_pressure": "Pa_abs",
        "power": "W",
    }
    return {
        shown.name: {"value": repr(getattr(read, shown.column)), "unit": units[shown.kind]}
        for shown in SHOWN
        if getattr(read, shown.column) is not None
    }


class Firm:
    """The people of a small contractor, made over the API by its first owner."""

    def __init__(self, grown: Grown) -> None:
        self.anyone = Client(grown.address, grown.certificate)
        grown.manage(
            "createsuperuser", "--noinput", "--email", "owner@firm.example", "--name", "First Owner",
            DJANGO_SUPERUSER_PASSWORD=PASSWORD,
        )  # fmt: skip
        self.owner = self.anyone.signed_in("owner@firm.example", PASSWORD)
        self.ids: dict[str, str] = {}

    def take_on(self, role: str) -> Client:
        email = f"{role}@firm.example"
        person = self.owner.made("/api/v1/people/", {"email": email, "name": role.title(), "role": role})
        self.ids[role] = person["id"]
        link = self.owner.post(f"/api/v1/people/{person['id']}/password-link/", expect=200).json
        self.anyone.post("/api/v1/set-password/", {"secret": link["secret"], "new_password": PASSWORD}, 204)
        return self.anyone.signed_in(email, PASSWORD)
