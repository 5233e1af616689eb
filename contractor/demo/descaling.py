"""One descale of the demo that is agreed, planned and announced for today: it can be walked to its end.

What a plan asks of the unit and the site is invented here for that unit alone.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from django.core.files.base import ContentFile
from django.db import transaction

from contractor.accounts.models import Certificate, Person, Role
from contractor.demo.cleaner_papers import label_of, safety_sheet_of
from contractor.descales import services
from contractor.descales.models import Descale, DescalePlan
from contractor.descales.planning import Asked
from contractor.http.problems import Problem
from contractor.register import services as register
from contractor.register.models import Cleaner, Exchanger, Rig
from contractor.register.services import rows
from contractor.trail.actor import acting_as
from contractor.visits.models import Visit
from contractor.visits.services.booking import book_visit
from diagnostics.models import Assessment

LONG_AGO = timedelta(days=90)
WETTED = {
    "joints": "copper", "valve_bodies": "bronze", "strainer": "bronze", "fittings": "red_brass",
    "hose_ports": "red_brass", "gaskets": "epdm", "flow_switch": "not_fitted",
    "water_regulating_valve": "not_fitted", "motorised_valve": "not_fitted",
}  # fmt: skip
UNIT = {
    "low_side_rating": {"value": "31", "unit": "bar_gauge"},
    "relief_setting": {"value": "41", "unit": "bar_gauge"}, "room_volume": {"value": "60", "unit": "m**3"},
}  # fmt: skip
EXCHANGER = {
    "water_content": {"value": "3", "unit": "L"}, "water_rating": {"value": "20", "unit": "bar_gauge"},
}  # fmt: skip
SITE = {
    "discharge_route": "sewer", "discharge_ph_low": 6.0, "discharge_ph_high": 10.0,
    "eyewash_place": "By the riser in the plant room", "discharge_permit": "invented for the demo",
}  # fmt: skip


def prepare(now: datetime, tell: Callable[[str], None]) -> None:
    """Once: papers for every cleaner, and one descale up to its notice."""
    office = Person.objects.filter(role=Role.OFFICE).first()
    crew = list(Person.objects.filter(role=Role.TECHNICIAN).order_by("email")[:2])
    if office is None or len(crew) < 2 or Descale.objects.exists():
        return
    with acting_as(office.pk, office.email):
        keep_papers(now)
        fouled = _fouled()
        if fouled is None:
            return
        try:
            with transaction.atomic():
                plan = _planned(office, crew, fouled, now)
        except Problem as problem:  # such as a crew that is booked elsewhere today
            tell(f"no descale is planned for today: {problem.detail}")
            return
        tag = fouled.reading.exchanger.unit.tag
        if plan is not None:
            tell(f"a descale of {tag} is planned with {plan.cleaner} for today: sign in as {crew[0].email}")


def keep_papers(now: datetime) -> None:
    """Placeholders for every cleaner without papers of its own."""
    day = (now - LONG_AGO).date()
    for cleaner in Cleaner.objects.in_use().filter(label="", safety_sheet=""):
        register.change_cleaner(cleaner, {"label_on": day, "safety_sheet_on": day})
        register.keep_paper(cleaner, "label", ContentFile(label_of(cleaner)))
        register.keep_paper(cleaner, "safety_sheet", ContentFile(safety_sheet_of(cleaner)))


def _fouled() -> Assessment | None:
    """The likeliest fouled copper-nickel coil: acid fits it, and one rig serves."""
    told = Assessment.objects.current().filter(
        reading__exchanger__kind="coaxial", reading__exchanger__metal="cupronickel", verdict="fouled",
        reading__exchanger__unit__site__antifreeze="none",
    )  # fmt: skip
    latest = told.select_related("reading__exchanger__unit__site").order_by("-reading__taken_at", "id")
    return latest.first()


def _planned(office: Person, crew: list[Person], of: Assessment, now: datetime) -> DescalePlan | None:
    exchanger, rig = of.reading.exchanger, Rig.objects.in_use().first()
    if rig is None:
        return None
    _tell_what_a_plan_asks(exchanger, now)
    visit = _booked(exchanger, crew, rig, now)
    descale = services.recommend(office, exchanger, "Fouled beyond its limit.", {"visit": visit})
    services.state_price(office, descale, {"amount": "480.00", "currency": "GBP"}, now)
    yes = {"said_by": "Odile Fernshaw", "said_at": now, "order_number": "HR-2291"}
    services.record_consent(office, descale, yes)
    asked = Asked(starts_at=now + timedelta(hours=1))
    for choice in services.choose_cleaner(office, descale, rig, asked, now):
        if not choice.refusals:
            plan = services.make_plan(descale.pk, choice.cleaner.pk, rig.pk, asked, now)
            if plan.stands:
                _announce(office, descale, plan, now)
                return plan
    return None


def _tell_what_a_plan_asks(exchanger: Exchanger, now: datetime) -> None:
    site = exchanger.unit.site
    register.change_site(site, SITE)
    register.change_unit(exchanger.unit, {"as_typed": UNIT})
    facts = {"wetted_materials": WETTED, "heats_drinking_water": False, "as_typed": EXCHANGER}
    register.change_exchanger(exchanger, facts)
    water = {"site": site, "taken_at": now - LONG_AGO, "treatments": ["none"], "black_slime": False}
    register.add_water_test(water)


def _booked(exchanger: Exchanger, crew: list[Person], rig: Rig, now: datetime) -> Visit:
    for person in crew:
        held = {"kind": "chemical_work", "number": "invented", "expires_on": (now + 4 * LONG_AGO).date()}
        rows.put_in(Certificate(person=person, **held))
    fields = {
        "site": exchanger.unit.site, "reason": "descale", "chemical_work": True, "noisy": True,
        "outside_hours_agreed_with": "Odile Fernshaw", "quiet_hours_agreed_with": "Odile Fernshaw",
        "window_start": now, "window_end": now + timedelta(hours=8),
    }  # fmt: skip
    return book_visit(fields, crew, [rig])


def _announce(office: Person, descale: Descale, plan: DescalePlan, now: datetime) -> None:
    told = {
        "work_starts_at": now + timedelta(hours=1), "hours_without_cooling": 5.0,
        "chemical": str(plan.cleaner), "noise": "a pump, as loud as talk", "others_affected": "none",
    }  # fmt: skip
    services.give_notice(office, descale, told, now)
