"""The records that the office keeps, each described once: its API address, its list, what hangs below it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from contractor.accounts.api import CertificateViewSet, PersonViewSet
from contractor.http.permissions import OFFICE, OWNER
from contractor.register import quantities as q
from contractor.register import sheets
from contractor.register.api import cleaners, customers, instruments, tables, units
from contractor.register.models import Exchanger, Site
from contractor.register.typed import Quantity
from contractor.visits.models import Visit
from contractor.web.records.forms import RecordForm
from contractor.web.records.limits import LimitsForm
from contractor.web.records.words import label_of
from contractor.web.story import stories_of, timeline
from diagnostics.models import Assessment, GrowthFit, Ranking

LAST_VISITS = 8
PLAIN = "web/records/show.html"
ENDED = {"Take back": "taken back", "Withdraw": "withdrawn"}
Sections = tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """
    slug        in the address: /office/units/
    columns     of the list: heading and path of what is shown
    find        columns that a search looks into
    parents     fields that an address may fill: /office/units/new/?site=...
    empty, why  what to do where a whole list, or the one below another record, is empty
    begins      what an empty form already shows, by the row that the new one belongs to
    below       slugs whose list is shown on this record's page, with the field that points here
    """

    slug: str
    one: str
    many: str
    viewset: type[Any]
    columns: tuple[tuple[str, str], ...]
    find: tuple[str, ...] = ()
    quantities: tuple[Quantity, ...] = ()
    sections: Sections = ()
    parents: tuple[str, ...] = ()
    below: tuple[tuple[str, str], ...] = ()
    related: tuple[str, ...] = ()
    ordering: tuple[str, ...] = ()
    may_write: frozenset[str] = OFFICE
    left_out: frozenset[str] = frozenset()
    retire: str = "Retire"
    bring_back: str = "Bring back"
    ended: str = "retired_at"
    listed: bool = True
    empty: str = ""
    why: str = ""
    page: str = PLAIN
    form: type[RecordForm] = RecordForm
    more: Callable[[Any, Any], Mapping[str, Any]] | None = field(default=None)
    begins: Callable[[Any], Mapping[str, Any]] | None = field(default=None)

    @property
    def model(self) -> Any:
        return self.viewset.model

    @property
    def can_end(self) -> bool:
        return bool(self.retire)

    @property
    def ended_words(self) -> str:
        """What a row is called once the button that ends it was pressed."""
        return ENDED.get(self.retire, "retired")


UNIT_SECTIONS: Sections = (
    ("Which unit", ("site", "tag", "place", "kind", "model", "serial", "loop", "operating_table")),
    ("The refrigerant side", ("refrigerant", "capacity", "stages", "expansion", "receiver",
                              "head_pressure_valve", "hot_gas_reheat", "desuperheater_coil",
                              "vapour_injection", "fan_power")),
    ("Cut-outs and ratings", ("high_head_cutout", "low_suction_cutout", "freeze_cutout", "low_side_rating",
                              "relief_setting")),
    ("Notes", ("room_volume", "safety_notes", "notes")),
)  # fmt: skip
EXCHANGER_SECTIONS: Sections = (
    ("Which exchanger", ("unit", "name", "kind", "modes", "metal")),
    ("Its size", ("area", "bore", "length", "count", "flow_in_heating", "water_content", "water_rating")),
    ("Design", ("design_flow", "design_pressure_drop", "pressure_drop_exponent", "fouling_limit",
                "rating_includes_fouling")),
    ("Around it", ("isolation_valves", "hose_connections", "wetted_materials",
                   "heats_drinking_water", "strainer_on_inlet", "balancing_valve_position",
                   "balancing_valve_kv", "between_ports", "port_rise", "notes")),
)  # fmt: skip
SITE_SECTIONS: Sections = (
    ("Which site", ("customer", "name", "address", "time_zone", "elevation")),
    ("Getting in, and safely", ("access_from", "access_until", "quiet_from", "quiet_until", "access_notes",
                                "safety_notes", "eyewash_place", "emergency_phone")),
    ("The water", ("water_source", "antifreeze", "antifreeze_fraction", "loop_low", "loop_high")),
    ("The drain", ("drain", "discharge_ph_low", "discharge_ph_high", "discharge_highest", "discharge_route",
                   "discharge_permit", "discharge_acid_document", "discharge_copper_mg_per_l",
                   "discharge_iron_mg_per_l",
                   "discharge_zinc_mg_per_l", "discharge_solids_mg_per_l")),
    ("Notes", ("notes",)),
)  # fmt: skip

CLEANER_SECTIONS: Sections = (
    ("The product", ("name", "acids", "form", "product_strength", "product_density_kg_per_m3", "inhibited",
                     "inhibitor")),
    ("The bath", ("strength_low", "strength_usual", "strength_high", "highest_temperature", "longest_time",
                  "renew_below_share", "renewal_ph", "strength_per_drop", "copper_limit_mg_per_l",
                  "iron_limit_mg_per_l", "fresh_colour", "dye")),
    ("Metals and seals", ("metals_allowed", "metals_only_inhibited", "metals_forbidden")),
    ("Safety", ("protection", "first_aid", "emergency_phone", "neutralisers", "neutralise_surface",
                "disposal", "storage")),
    ("Papers", ("label_on", "safety_sheet_on", "sources", "notes")),
)  # fmt: skip


def told_of(exchanger: Any, person: Any) -> Mapping[str, Any]:
    """What its readings told, newest first, with charts, and when its limit comes."""
    growth = GrowthFit.objects.current().filter(exchanger=exchanger).first()
    story = stories_of([exchanger], person)[0]
    return {"story": story, "growth": growth, "ranking": ranking_of(story.latest)}


def ranking_of(result: Assessment | None) -> Ranking | None:
    if result is None:
        return None
    return Ranking.objects.current().filter(reading=result.reading_id).first()


def zone_next_door(customer: Any) -> Mapping[str, Any]:
    """The time zone of the site that was entered last, of the same customer where it has one."""
    sites = Site.objects.in_use().order_by("-created_at", "-pk")
    last = (sites.filter(customer=customer).first() if customer else None) or sites.first()
    return {"time_zone": last.time_zone} if last else {}


def visits_of(site: Any, person: Any) -> Mapping[str, Any]:
    """The last visits to a site, those to come among them."""
    rows = Visit.objects.seen_by(person).filter(site=site).prefetch_related("crew")
    return {"visits": rows.order_by("-window_start")[:LAST_VISITS]}


def told_of_unit(unit: Any, person: Any) -> Mapping[str, Any]:
    """Each exchanger's last result, and what happened to the unit."""
    exchangers = Exchanger.objects.in_use().filter(unit=unit).select_related("unit__site").order_by("name")
    stories = stories_of(list(exchangers), person)
    return {"stories": stories, "timeline": timeline(stories, person, unit)}


def papers_of(cleaner: Any, person: Any) -> Mapping[str, Any]:
    """What the sheet lacks before anybody may plan with it."""
    names = {column: each.name for each in q.CLEANER for column in each.columns}
    missing, papers = sheets.missing_fields(cleaner), sheets.missing_papers(cleaner)
    return {
        "missing": [label_of(names.get(name, name)) for name in missing],
        "missing_papers": [label_of(name) for name in papers],
    }


KINDS: dict[str, Kind] = {
    kind.slug: kind
    for kind in (
        Kind(
            "customers", "customer", "Customers", customers.CustomerViewSet,
            (("Name", "name"), ("Number", "code"), ("Contact", "contact_name"), ("Telephone", "phone")),
            find=("name", "code", "contact_name", "email", "phone", "notes"),
            below=(("sites", "customer"), ("accesses", "customer")),
            empty="A customer comes first, then its sites, then the units there. A whole register can be "
            "brought in from a spreadsheet with the command import_register.",
        ),
        Kind(
            "sites", "site", "Sites", customers.SiteViewSet,
            (("Site", "name"), ("Customer", "customer"), ("Address", "address"), ("Water", "water_source")),
            find=("name", "address", "customer__name", "access_notes", "safety_notes", "drain",
                  "discharge_permit", "notes"),
            quantities=q.SITE, sections=SITE_SECTIONS,
            page="web/records/site.html", more=visits_of, begins=zone_next_door,
            parents=("customer",), below=(("units", "site"), ("water-tests", "site")), related=("customer",),
            empty="Open a customer and add a site there.",
            why="Units stand at a site; visits go there.",
        ),
        Kind(
            "units", "unit", "Units", units.UnitViewSet,
            (("Tag", "tag"), ("Site", "site"), ("Place", "place"), ("Model", "model"),
             ("Refrigerant", "refrigerant")),
            find=("tag", "place", "model", "serial", "refrigerant", "loop", "site__name",
                  "site__customer__name", "safety_notes", "notes"),
            page="web/records/unit.html", more=told_of_unit, quantities=q.UNIT, sections=UNIT_SECTIONS,
            parents=("site",), below=(("exchangers", "unit"), ("events", "unit")), related=("site",),
            empty="Open a site and add a unit there.",
            why="Each machine with a tag of its own is a unit.",
        ),
        Kind(
            "exchangers", "exchanger", "Exchangers", units.ExchangerViewSet,
            (("Unit", "unit"), ("Exchanger", "name"), ("Kind", "kind"), ("Metal", "metal"),
             ("Site", "unit.site")),
            find=("unit__tag", "name", "unit__site__name", "unit__site__customer__name", "notes"),
            quantities=q.EXCHANGER,
            sections=EXCHANGER_SECTIONS,
            parents=("unit",), related=("unit__site",), ordering=("unit__tag", "name"),
            page="web/records/exchanger.html", more=told_of,
            empty="Open a unit and add its exchangers there, one a refrigerant circuit.",
            why="One a refrigerant circuit and water side: readings belong to it.",
        ),
        Kind(
            "events", "event", "What was changed", units.UnitEventViewSet,
            (("When", "at"), ("Unit", "unit"), ("What", "what"), ("Note", "note")),
            find=("note", "unit__tag"),
            parents=("unit",), related=("unit__site",), retire="Take back", bring_back="",
            ended="taken_back_at",
            listed=False,
            why="A new charge, compressor, expansion device or exchanger: older clean references end.",
        ),
        Kind(
            "water-tests", "water test", "Water tests", customers.WaterTestViewSet,
            (("Taken", "taken_at"), ("Site", "site"), ("pH", "ph"), ("Treatment", "treatment")),
            find=("site__name", "treatment"),
            quantities=q.WATER_TEST, parents=("site",), related=("site",), listed=False,
            why="They tell what scale to expect, and what must not meet acid.",
        ),
        Kind(
            "accesses", "client's access", "Who sees a customer's records", customers.ClientAccessViewSet,
            (("Person", "person"), ("Customer", "customer")), parents=("customer",),
            related=("person", "customer"), retire="Withdraw", bring_back="Give back", listed=False,
            why="A client who signs in sees nothing of this customer until access is given here.",
        ),
        Kind(
            "tables", "operating table", "Operating tables", tables.OperatingTableViewSet,
            (("Name", "name"), ("Rating includes fouling", "rating_includes_fouling")),
            find=("name", "notes"),
            below=(("table-rows", "table"),), left_out=frozenset({"rows"}),
            empty="Type the maker's printed rows once; every unit of the model uses them.",
        ),
        Kind(
            "table-rows", "printed row", "Printed rows", tables.OperatingTableRowViewSet,
            (("Mode", "mode"), ("Stage", "stage"), ("Entering water", "entering_water_k"),
             ("Flow", "water_flow_m3_per_s"), ("Head from", "head_low_pa_gauge"),
             ("Head to", "head_high_pa_gauge"),
             ("Water changes from", "water_temperature_change_low_k"),
             ("Water changes to", "water_temperature_change_high_k")),
            quantities=q.TABLE_ROW, parents=("table",), related=("table",), listed=False,
            why="A row for each line that the maker printed; two or more say how it changes.",
        ),
        Kind(
            "gauge-sets", "gauge set", "Instruments", instruments.GaugeSetViewSet,
            (("Gauge set", "name"), ("Carried by", "holder")), find=("name", "holder__name"),
            below=(("instruments", "gauge_set"),),
            related=("holder",),
            empty="Give each technician a gauge set, and the set its instruments with their accuracy.",
        ),
        Kind(
            "instruments", "instrument", "Instruments of a gauge set", instruments.InstrumentViewSet,
            (("Takes", "reading"), ("Stays the same", "repeating"), ("New each time", "random"),
             ("Calibration due", "calibration_due_on")),
            find=("serial", "reading", "gauge_set__name"),
            parents=("gauge_set",), related=("gauge_set",), listed=False,
            left_out=frozenset({"relative"}), form=LimitsForm,
            why="Without them the usual accuracy of such instruments is assumed.",
        ),
        Kind(
            "cleaners", "cleaner", "Cleaners", cleaners.CleanerViewSet,
            (("Cleaner", "name"), ("Form", "form"), ("Label of", "label_on"),
             ("Safety sheet of", "safety_sheet_on")),
            find=("name", "inhibitor", "notes"), quantities=q.CLEANER, sections=CLEANER_SECTIONS,
            below=(("lots", "cleaner"),), page="web/records/cleaner.html", more=papers_of,
            empty="Enter each cleaner from its label and safety sheet. The command add_generic_cleaners "
            "brings a few generic kinds as a start.",
        ),
        Kind(
            "lots", "lot", "Lots in stock", cleaners.CleanerLotViewSet,
            (("Lot", "lot"), ("Cleaner", "cleaner"), ("Left", "quantity_kg"), ("Expires", "expires_on"),
             ("Place", "place")),
            find=("lot", "place", "cleaner__name"),
            quantities=q.CLEANER_LOT, parents=("cleaner",), related=("cleaner",), listed=False,
            why="With lots, what is about to expire is told, and a descale says which was used.",
        ),
        Kind(
            "rigs", "rig", "Rigs", cleaners.RigViewSet,
            (("Rig", "name"), ("Tank", "tank_volume_m3"), ("Sound at 1 m, dB(A)", "sound_level_db")),
            find=("name", "notes"), quantities=q.RIG,
            empty="A rig is a tank, a pump and hoses. Its curve and materials decide what it may clean.",
        ),
        Kind(
            "certificates", "certificate", "Certificates of people", CertificateViewSet,
            (("Person", "person"), ("For", "kind"), ("Number", "number"), ("Holds until", "expires_on")),
            find=("person__name", "number"), parents=("person",), related=("person",),
            retire="", bring_back="", ended="",
            why="Chemical work is booked only with somebody whose certificate holds on the day.",
            empty="Open a person and add what papers they hold. Chemical work is booked only with one that "
            "holds on the day.",
        ),
        Kind(
            "people", "person", "People", PersonViewSet,
            (("Name", "name"), ("E-mail", "email"), ("Role", "role"), ("May sign in", "is_active")),
            find=("name", "email", "phone"), page="web/records/person.html", may_write=OWNER,
            below=(("certificates", "person"),),
            retire="", bring_back="", ended="",
            empty="Who signs in: owner, office, technicians, clients. The owner makes and ends sign-ins.",
        ),
    )
}  # fmt: skip
