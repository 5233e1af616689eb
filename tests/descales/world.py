"""A unit that can be descaled: all that is asked is known, and a cleaner fits."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone

from contractor.accounts.models import Certificate, Person, Role
from contractor.descales import services
from contractor.descales.models import Descale, DescalePlan
from contractor.descales.planning import Asked
from contractor.register import services as register
from contractor.register.models import Cleaner, CleanerLot, Exchanger, Rig, WaterTest
from contractor.register.sheets import generic_fields
from diagnostics.engine.descaling.cleaners import cleaner as generic
from tests import make

NOT_FITTED = dict.fromkeys(("flow_switch", "water_regulating_valve", "motorised_valve"), "not_fitted")
WETTED = {
    "joints": "copper", "valve_bodies": "bronze", "strainer": "bronze", "fittings": "red_brass",
    "hose_ports": "red_brass", "gaskets": "epdm", **NOT_FITTED,
}  # fmt: skip
RIG_WETTED = {
    "tank": "polyethylene", "pump": "polypropylene", "hoses": "epdm", "hose_ends": "polypropylene",
    "fittings": "polypropylene",
}  # fmt: skip


@dataclass
class Job:
    """A descale with the people and things about it."""

    descale: Descale
    exchanger: Exchanger
    technician: Person
    office: Person
    cleaner: Cleaner
    lot: CleanerLot
    rig: Rig
    now: dt.datetime

    def fresh(self) -> Descale:
        return Descale.objects.get(pk=self.descale.pk)

    def at(self, minutes: float) -> dt.datetime:
        return self.now + dt.timedelta(minutes=minutes)


PDF = b"%PDF-1.4 sheet of the cleaner"


def cleaner(sheet: str = "sulfamic", **given: Any) -> Cleaner:
    today = timezone.now().date()
    dated = {"label_on": today - dt.timedelta(days=90), "safety_sheet_on": today - dt.timedelta(days=90)}
    kept = register.add_cleaner({**generic_fields(generic(sheet)), **dated, **given})
    for paper in ("label", "safety_sheet"):
        register.keep_paper(kept, paper, ContentFile(PDF, name=f"{paper}.pdf"))  # type: ignore[arg-type]
    return kept


def rig(**given: Any) -> Rig:
    fields = {
        "name": f"Rig {next(make.numbers)}", "tank_volume_m3": 0.06, "hose_length_m": 8.0,
        "hose_bore_m": 0.019, "pump_curve": [[0.0, 14.0], [0.0008, 4.0]], "sound_level_db": 65.0,
        "wetted_materials": RIG_WETTED, **given,
    }  # fmt: skip
    return register.add_rig(fields)


def exchanger(**given: Any) -> Exchanger:
    unit = make.unit(
        make.site(elevation_m=0.0, emergency_phone="112", discharge_ph_low=6.0, discharge_ph_high=10.0,
                  discharge_route="sewer"),
        capacity_w=10_500.0, low_side_rating_pa_gauge=3.1e6, relief_setting_pa_gauge=4.1e6,
        room_volume_m3=40.0, freeze_cutout_k=275.15,
    )  # fmt: skip
    return make.exchanger(
        unit,
        **{
            "metal": "copper", "area_m2": 0.6, "bore_m": 0.02, "length_m": 9.0,
            "design_flow_m3_per_s": 5.7e-4, "design_pressure_drop_pa": 25e3, "water_content_m3": 0.003,
            "water_rating_pa_gauge": 2.0e6, "wetted_materials": WETTED, "heats_drinking_water": False,
            **given,
        },
    )  # fmt: skip


def job(sheet: str = "sulfamic", of: Exchanger | None = None, **sheet_fields: Any) -> Job:
    of = of or exchanger()
    technician = make.person(Role.TECHNICIAN)
    Certificate.objects.create(
        person=technician, kind="chemical_work", expires_on=timezone.localdate() + dt.timedelta(days=200)
    )
    crew = [technician, make.person(Role.TECHNICIAN, name="J. Helper")]
    visit, circulator = make.visit(of.unit.site, crew, chemical_work=True), rig()
    visit.rigs.add(circulator)
    WaterTest.objects.create(
        site=of.unit.site, taken_at=timezone.now(), treatments=["none"], black_slime=False
    )
    kept = cleaner(sheet, **sheet_fields)
    lot = register.add_cleaner_lot({"cleaner": kept, "lot": "L-1", "quantity_kg": 25.0})
    office = make.person(Role.OFFICE)
    descale = services.recommend(technician, of, "approach 4 K above clean", {"visit": visit})
    return Job(descale, of, technician, office, kept, lot, circulator, timezone.now())


def job_beside(metal: str) -> Job:
    """Another unit's descale, of another metal, with a cleaner of another name."""
    return job("sulfamic", exchanger(metal=metal), name=f"sulfamic {next(make.numbers)}")


def agreed(of: Job) -> Job:
    services.state_price(of.office, of.descale, {"amount": "480.00", "currency": "EUR"}, of.now)
    yes = {"said_by": "M. Facility", "said_at": of.now, "order_number": "4711"}
    services.record_consent(of.office, of.descale, yes)
    return of


def planned(of: Job, **asked: Any) -> DescalePlan:
    agreed(of)
    return services.make_plan(of.descale.pk, of.cleaner.pk, of.rig.pk, Asked(**asked), of.now)


def planned_again(of: Job, **asked: Any) -> DescalePlan:
    return services.make_plan(of.descale.pk, of.cleaner.pk, of.rig.pk, Asked(**asked), of.now)


def noticed(of: Job) -> Job:
    plan = planned(of)
    assert plan.refusals == [], plan.refusals
    told = {
        "work_starts_at": of.at(60), "hours_without_cooling": 4.0, "chemical": of.cleaner.name,
        "noise": "a pump, as loud as talk", "others_affected": "none", "sent_to": "facility@example.org",
    }  # fmt: skip
    services.give_notice(of.office, of.descale, told, of.now)
    return of


GAUGE = {"pressure_before": {"value": "4", "unit": "bar_gauge"},
         "pressure_after": {"value": "3.98", "unit": "bar_gauge"}}  # fmt: skip
CHECK_READINGS: dict[str, dict[str, Any]] = {
    "balancing_noted": {"told": "3.5 turns"},
    "hold_test": {"as_typed": {"duration": {"value": "15", "unit": "minute"}, **GAUGE}},
    "water_run": {"as_typed": {"flow": {"value": "9", "unit": "gpm"}}},
    "treatment_flushed": {"strip_mg_per_l": 0.0},
    "flush_caught": {"as_typed": {"volume": {"value": "60", "unit": "L"}}},
    "ventilation": {"gas_share": 0.0006},
    "forced_ventilation": {"told": "a fan at the floor, duct out of the window"},
    "second_person": {"told": "J. Helper"},
}
END_READINGS: dict[str, dict[str, Any]] = {
    "final_rinse": {
        "ph": 7.5, "supply_ph": 7.4,
        "as_typed": {
            "duration": {"value": "8", "unit": "minute"}, "conductivity": {"value": "510", "unit": "uS/cm"},
            "supply_conductivity": {"value": "500", "unit": "uS/cm"},
        },
    },
    "balancing_back": {"told": "3.5 turns"},
    "second_hold_test": CHECK_READINGS["hold_test"],
    "refrigerant_detector": {"as_typed": {"static_pressure": {"value": "14.8", "unit": "bar_abs"}}},
    "antifreeze_back": {"as_typed": {"freeze_setting": {"value": "2", "unit": "degC"}}},
    "flow_proven": {"as_typed": {"flow": {"value": "9", "unit": "gpm"}}},
}  # fmt: skip


def check(of: Job, kind: str, minutes: float = 0.0, outcome: str = "passed", **given: Any) -> services.Told:
    fields = {"kind": kind, "outcome": outcome, "at": of.at(minutes), **CHECK_READINGS.get(kind, {}), **given}
    return services.record_check(of.technician, of.descale, fields, of.now + dt.timedelta(hours=12))


def checked(of: Job) -> Job:
    """Every check of this unit passed."""
    make.reading(of.descale.visit, of.exchanger, of.technician, purpose="before_descale",
                 static_pressure_pa=1.5e6)  # fmt: skip
    for place, kind in enumerate(services.checking.kinds_needed(services.current_plan(of.descale))):
        check(of, kind, float(place))
    return of


def mix(of: Job, minutes: float = 60.0, **given: Any) -> services.Told:
    plan = services.current_plan(of.descale)
    bath = plan.result["bath"] if plan else {"product_kg": 1.0, "water_m3": 0.02}
    fields = {
        "at": of.at(minutes), "lot": of.lot,
        "as_typed": {"product_mass": {"value": bath["product_kg"], "unit": "kg"},
                     "water": {"value": bath["water_m3"] * 1000, "unit": "L"}},
        **given,
    }  # fmt: skip
    return services.mix_batch(of.technician, of.descale, fields, of.now + dt.timedelta(hours=12))


def look(of: Job, minutes: float, after: float = 60.0, **given: Any) -> services.Told:
    """A look so many minutes after acid went in; told hours later, so that only its own clock counts."""
    typed = {"temperature": {"value": "22", "unit": "degC"}, "level": {"value": "30", "unit": "cm"}}
    fields = {"id": uuid.uuid4(), "at": of.at(after + minutes), "ph": 1.2, "bubbles": "many",
              "solids": "few", "as_typed": {**typed, **given.pop("as_typed", {})},
              **given}  # fmt: skip
    return services.add_look(of.technician, of.descale, fields, of.at(after + minutes))


def step(of: Job, kind: str, minutes: float = 240.0, outcome: str = "done", **given: Any) -> services.Told:
    fields = {"kind": kind, "outcome": outcome, "at": of.at(minutes), **END_READINGS.get(kind, {}), **given}
    return services.record_end_step(of.technician, of.descale, fields, of.now + dt.timedelta(hours=12))
