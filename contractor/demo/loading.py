"""Puts the scenario into the database through the services that people use.

The register goes in whole or not at all, then one visit after another, each whole or not at all: the worker
begins on the first readings while the others are stored, and a run that was interrupted is gone on with.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import Any

from django.conf import settings
from django.db import transaction

from contractor.accounts.models import Certificate, Person
from contractor.demo import sign_ins
from contractor.demo.as_typed import as_typed
from contractor.demo.history import PROBES, TECHNICIANS, History, ReadingStory, VisitStory, reading_id
from contractor.demo.machines import COOLING_OF_HEAT, Machine, of_model
from contractor.demo.scenario import Scenario, id_of
from contractor.register import services as register
from contractor.register.models import Customer, Exchanger, GaugeSet, OperatingTable, Site, Unit, UnitEvent
from contractor.register.services import rows
from contractor.register.typed import barometric_at
from contractor.trail.actor import acting_as
from contractor.visits.models import Visit
from contractor.visits.services.booking import book_visit, finish_visit, start_visit
from contractor.visits.services.readings import post_readings
from diagnostics.engine.records import InstrumentAccuracy, TableRow
from diagnostics.engine.virtual_unit import operating_table
from diagnostics.engine.waters import water

Tell = Callable[[str], None]
BEFORE, AFTER = timedelta(minutes=30), timedelta(minutes=30)
PRINTED = (
    "entering_water_k", "water_flow_m3_per_s", "superheat_low_k", "superheat_high_k", "subcooling_low_k",
    "subcooling_high_k", "water_temperature_change_low_k", "water_temperature_change_high_k",
    "water_pressure_drop_pa",
)  # fmt: skip
WITH_ACID, CERTIFIED_UNTIL = TECHNICIANS[:2], date(2028, 6, 30)
"""Nobody descales alone, and somebody of the crew is certified."""
RIG = {
    "tank_volume_m3": 0.09, "spare_tank_volume_m3": 0.06, "pump_power_w": 190.0,
    "pump_curve": [[0.0, 12.0], [0.0004, 9.0], [0.0008, 0.5]], "hose_length_m": 12.0, "hose_bore_m": 0.019,
    "sound_level_db": 66.0, "return_filter": True,
    "wetted_materials": {"tank": "polyethylene", "pump": "polypropylene", "hoses": "epdm",
                         "hose_ends": "polypropylene", "fittings": "polypropylene"},
}  # fmt: skip
PRINTED_PRESSURES = ("head_low", "head_high", "suction_low", "suction_high")


class NotTheDemo(Exception):
    """The database holds a register of its own; the demo keeps out of it."""


def refuse_beside_another(world: Scenario) -> None:
    """Raises NotTheDemo where the database holds a register that is not the demo's."""
    if not _has_register(world) and (Customer.objects.exists() or Person.objects.exists()):
        raise NotTheDemo(
            f"{settings.VAR_DIR} holds a register that is not the demo's, and the demo would mix with it. "
            "Give the demo a folder of its own: WATERSIDE_VAR=FOLDER before the command."
        )


def load(world: Scenario, tell: Tell) -> None:
    """Store what is not there yet."""
    refuse_beside_another(world)
    loader = Loader(world, History(world))
    stored = set(Visit.objects.values_list("pk", flat=True))
    planned = [story for story in loader.history.planned() if story.asked]
    wanted = [story for story in planned if id_of("visit", story.key) not in stored]
    if _has_register(world) and not wanted:
        tell("the scenario is loaded already; nothing is loaded twice")
        return
    tell("making three years of visits from the machines' truth")
    loader.history.settle(wanted)
    if _has_register(world):
        loader.find_register()
    else:
        with transaction.atomic(), acting_as(None, "demo"):
            loader.load_register()
    tell(f"storing {sum(len(story.readings) for story in wanted)} readings of {len(wanted)} visits")
    for story in wanted:
        with transaction.atomic(), acting_as(None, "demo"):
            loader.load_visit(story)


def _has_register(world: Scenario) -> bool:
    return Customer.objects.filter(pk=id_of("customer", world.first_customer)).exists()


class Loader:
    def __init__(self, world: Scenario, history: History) -> None:
        self.world, self.history = world, history
        self.people: dict[str, Person] = {}
        self.sites: dict[str, Site] = {}
        self.units: dict[str, Unit] = {}
        self.exchangers: dict[str, Exchanger] = {}
        self.gauge_sets: dict[str, GaugeSet] = {}

    def load_register(self) -> None:
        self.load_people()
        self.load_customers()
        self.load_cleaners()
        self.load_units()

    def find_register(self) -> None:
        """What an earlier run has stored."""
        self.people = {person.email: person for person in Person.objects.all()}
        sites = Site.objects.in_bulk([id_of("site", key) for key in self.world.sites])
        self.sites = {key: sites[id_of("site", key)] for key in self.world.sites}
        self.units = {unit.tag: unit for unit in Unit.objects.all()}
        exchangers = Exchanger.objects.select_related("unit__site").in_bulk()
        for machine in self.history.machines:
            key = machine.story.key
            self.exchangers[key] = exchangers[id_of("exchanger", key)]
        sets = GaugeSet.objects.in_bulk()
        self.gauge_sets = {email: sets[id_of("gauge set", email)] for email in TECHNICIANS}

    def load_people(self) -> None:
        rows_of_people = self.world.rows("people")
        passwords = sign_ins.make(rows_of_people)
        for row in rows_of_people:
            self.people[row["email"]] = Person.objects.create_user(
                row["email"], passwords[row["email"]]["password"], id=id_of("person", row["email"]),
                name=row["name"], role=row["role"], phone=row["phone"],
            )  # fmt: skip
        for email in TECHNICIANS:
            person = self.people[email]
            self.gauge_sets[email] = register.add_gauge_set(
                {"id": id_of("gauge set", email), "name": f"{person.name}'s gauges", "holder": person}
            )
            for probe in PROBES:
                self.add_probe(email, probe)
        for email in WITH_ACID:
            held = {"kind": "chemical_work", "number": "invented", "expires_on": CERTIFIED_UNTIL}
            rows.put_in(Certificate(person=self.people[email], **held))

    def add_probe(self, email: str, probe: InstrumentAccuracy) -> None:
        register.add_instrument(
            {
                "id": id_of("instrument", email, probe.reading), "gauge_set": self.gauge_sets[email],
                "reading": probe.reading, "repeating": probe.repeating, "random": probe.random,
                "relative": probe.relative, "calibrated_on": date(2026, 3, 2),
            }
        )  # fmt: skip

    def load_customers(self) -> None:
        customers = {}
        for row in self.world.rows("customers"):
            fields = {**row, "id": id_of("customer", row["name"])}
            customers[row["name"]] = register.add_customer(fields)
        for story in self.world.sites.values():
            customer = customers[story.row["customer"]]
            self.sites[story.key] = register.add_site(self.site_fields(story.row, customer))
        by_name = {site.name: site for site in self.sites.values()}
        for row in self.world.rows("people"):
            if row["customer"]:
                access = {"person": self.people[row["email"]], "customer": customers[row["customer"]]}
                limited = [by_name[name] for name in row["sites"].split(";") if name]
                register.give_client_access(access, limited)

    def load_cleaners(self) -> None:
        """The generic sheets, a drum or bag of each, and the rig that the crew carries."""
        for cleaner in register.add_generic_cleaners():
            of_it = cleaner.name.partition(" ")[0]
            fields = {
                "id": id_of("lot", cleaner.name),
                "cleaner": cleaner,
                "lot": f"{of_it[:2].upper()}-2291",
            }
            register.add_cleaner_lot({**fields, "quantity_kg": 25.0, "place": "store, shelf 3"})
        register.add_rig({"id": id_of("rig", "1"), "name": "Rig 1", **RIG})

    def site_fields(self, row: dict[str, str], customer: Customer) -> dict[str, Any]:
        plain = (
            "name",
            "address",
            "time_zone",
            "water_source",
            "antifreeze",
            "access_notes",
            "safety_notes",
            "drain",
            "emergency_phone",
        )
        typed = {
            "elevation": {"value": row["elevation_m"], "unit": "m"},
            "loop_low": {"value": row["loop_low_c"], "unit": "degC"},
            "loop_high": {"value": row["loop_high_c"], "unit": "degC"},
        }
        hours = ("access_from", "access_until", "quiet_from", "quiet_until")
        if row["antifreeze_fraction"]:
            typed["antifreeze_fraction"] = {"value": row["antifreeze_fraction"], "unit": "dimensionless"}
        return {
            "id": id_of("site", row["key"]), "customer": customer, "as_typed": typed,
            **{name: row[name] for name in plain},
            **{name: time.fromisoformat(row[name]) for name in hours if row[name]},
        }  # fmt: skip

    def load_units(self) -> None:
        tables = {
            name: self.load_table(name)
            for name, models in self.world.models.items()
            if models[0]["table"] == "yes"
        }
        for machine in self.history.machines:
            story = machine.story
            if story.tag not in self.units:
                self.units[story.tag] = register.add_unit(
                    self.unit_fields(machine, tables.get(story.unit["model"]))
                )
            self.exchangers[story.key] = register.add_exchanger(self.exchanger_fields(machine))

    def load_table(self, model: str) -> OperatingTable:
        printed = operating_table(of_model(self.world.models[model][0]), model)
        fields = {"id": id_of("table", model), "name": model}
        return register.add_operating_table(fields, [table_row_fields(row) for row in printed])

    def unit_fields(self, machine: Machine, table: OperatingTable | None) -> dict[str, Any]:
        story, model = machine.story, machine.story.model
        typed = {
            "capacity": {"value": f"{COOLING_OF_HEAT * float(model['heat_kw']):g}", "unit": "kW"},
            "high_head_cutout": {"value": model["high_head_bar_gauge"], "unit": "bar_gauge"},
            "low_suction_cutout": {"value": model["low_suction_bar_gauge"], "unit": "bar_gauge"},
            "freeze_cutout": {"value": model["freeze_c"], "unit": "degC"},
        }
        return {
            "id": id_of("unit", story.tag), "site": self.sites[story.site.key], "tag": story.tag,
            "place": story.unit["place"], "model": story.unit["model"], "serial": story.unit["serial"],
            "kind": model["unit_kind"], "refrigerant": model["refrigerant"], "expansion": model["expansion"],
            "head_pressure_valve": model["head_pressure_valve"] == "yes", "operating_table": table,
            "loop": "" if story.site.water_source == "city_water" else story.site.name,
            "as_typed": {name: entry for name, entry in typed.items() if entry["value"]},
        }  # fmt: skip

    def exchanger_fields(self, machine: Machine) -> dict[str, Any]:
        story, truth = machine.story, machine.surface
        flow_l_per_s = (
            1000.0 * truth.design_flow_kg_per_s / float(water("none", 0.0).density_kg_per_m3(293.15))
        )
        typed = {
            "design_flow": {"value": f"{flow_l_per_s:.4g}", "unit": "L/s"},
            "design_pressure_drop": {"value": f"{truth.design_drop_pa / 1000:.1f}", "unit": "kPa"},
        }
        if story.model["area_known"] == "yes":
            typed["area"] = {"value": f"{truth.area_m2:.4g}", "unit": "m**2"}
        if story.model["kind"] in ("coaxial", "shell_and_tube"):
            typed["bore"] = {"value": f"{1000 * truth.bore_m:.1f}", "unit": "mm"}
        return {
            "id": id_of("exchanger", story.key), "unit": self.units[story.tag], "name": story.name,
            "kind": story.model["kind"], "modes": story.model["modes"], "metal": story.model["metal"],
            "flow_in_heating": "counterflow" if truth.counterflow_heating else "parallel",
            "pressure_drop_exponent": round(truth.drop_exponent, 2),
            "isolation_valves": True, "strainer_on_inlet": True, "as_typed": typed,
        }  # fmt: skip

    def load_visit(self, story: VisitStory) -> None:
        technician = self.people[story.technician]
        start, end = story.readings[0].reading.taken_at - BEFORE, story.readings[-1].reading.taken_at + AFTER
        fields = {
            "id": id_of("visit", story.key), "site": self.sites[story.site.key], "reason": story.reason,
            "window_start": start, "window_end": end,
        }  # fmt: skip
        names = dict.fromkeys([story.technician, *(WITH_ACID if story.descaled else ())])
        visit = book_visit(fields, [self.people[name] for name in names])
        with acting_as(technician.pk, technician.email):
            start_visit(technician, visit, start)
            for machine, at, descale in story.descaled:
                self.note_descale(machine, at, descale.why)
            for reading in story.readings:
                self.load_reading(visit, story, reading, technician)
            finish_visit(technician, visit, end)

    def note_descale(self, machine: Machine, at: datetime, why: str) -> None:
        """Straight in: the service would have every earlier reading assessed twice."""
        rows.put_in(UnitEvent(unit=self.units[machine.story.tag], at=at, what="descaled", note=why))

    def load_reading(self, visit: Visit, story: VisitStory, told: ReadingStory, technician: Person) -> None:
        reading, exchanger = told.reading, self.exchangers[told.machine.story.key]
        fields = {
            "id": reading_id(story, told), "visit": visit, "exchanger": exchanger, "note": told.remark,
            "taken_at": reading.taken_at, "mode": reading.mode, "purpose": reading.purpose,
            "minutes_running": reading.minutes_running, "gauge_set": self.gauge_sets[story.technician],
            "strainer": reading.strainer or "", "fault_lockout": reading.fault_lockout or "",
            "as_typed": as_typed(reading, story.site, barometric_at(visit.site.elevation_m)),
        }  # fmt: skip
        post_readings(technician, fields, reading.taken_at + timedelta(minutes=5), ranked=False)


def table_row_fields(row: TableRow) -> dict[str, Any]:
    """Makers print gauge pressures."""
    sea_level = barometric_at(None)
    fields: dict[str, Any] = {"mode": row.mode, "stage": row.stage}
    for name in PRINTED:
        fields[name] = getattr(row, name)
    for name in PRINTED_PRESSURES:
        fields[f"{name}_pa_gauge"] = getattr(row, f"{name}_pa") - sea_level
    return fields
