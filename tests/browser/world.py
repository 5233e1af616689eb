"""A small world for browsers: `python -m tests.browser.world` seeds it and prints the ids that tests go by.

Machines are read off the forward model, so that the worker has something true to say.
"""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

import django

from tests.browser.desk_world import desk

COMING = dt.timedelta(days=2)


def people() -> dict[str, Any]:
    from contractor.accounts.models import Role
    from tests import make

    roles = {"owner": Role.OWNER, "office": Role.OFFICE, "tech": Role.TECHNICIAN, "second": Role.TECHNICIAN}
    names = {"owner": "Olive Marsh", "office": "Oswin Field", "tech": "Tamsin Brook", "second": "Seth Ford"}
    return {
        name: make.person(role, email=f"{name}@example.org", name=names[name]) for name, role in roles.items()
    }


def secret() -> str:
    """Of a link to a first password, for one who never signed in."""
    from contractor.accounts.services import password_link_secret
    from tests import make

    return password_link_secret(make.person(email="new@example.org", name="Nell Oakes"))


def sites() -> tuple[Any, Any]:
    from tests import make

    ours = make.customer(name="Harbour Reach Offices", phone="01632 960011")
    quay = make.site(
        ours, name="Harbour Reach, Quay House", address="1 Quay Street, Harbour Reach", elevation_m=210.0,
        time_zone="Europe/London", water_source="cooling_tower", emergency_phone="01632 960999",
        access_notes="Key at the front desk; goods lift to level 3.",
        safety_notes="Eyewash beside the plant room door. Hot pipes at head height.",
        drain="Floor gully in the plant room to the foul sewer",
    )  # fmt: skip
    mill = make.site(make.customer(name="Larkfield Homes"), name="Larkfield Mill", elevation_m=30.0,
                     safety_notes="Stair without a rail.", emergency_phone="01632 960998")  # fmt: skip
    make.client_of(ours, email="client@example.org", name="Clara Quill")
    return quay, mill


def machines(quay: Any, mill: Any) -> dict[str, Any]:
    from tests import make

    place = "Level 3, ceiling void by the lift"
    first = make.unit(quay, tag="QH-01", place=place, model="WS-036", capacity_w=10_550.0, stages=2)
    second = make.unit(quay, tag="QH-02", place="Level 3, east riser", refrigerant="R454B")
    chiller = make.unit(quay, tag="QH-CH", place="Plant room", refrigerant="R134a",
                        kind="water_cooled_chiller")  # fmt: skip
    mine = {"design_flow_m3_per_s": 0.00055, "design_pressure_drop_pa": 32_000.0, "metal": "cupronickel"}
    return {
        "first": make.exchanger(first, area_m2=0.9, balancing_valve_position="3.4 turns open", **mine),
        "second": make.exchanger(second, name="A", kind="brazed_plate", **mine),
        "second_b": make.exchanger(second, name="B", kind="brazed_plate", **mine),
        "condenser": make.exchanger(chiller, name="condenser", kind="shell_and_tube", modes="cooling"),
        "far": make.exchanger(make.unit(mill, tag="LM-07", place="Boiler room")),
    }


def unseen() -> Any:
    """A unit at a site where nobody has a visit."""
    from tests import make

    return make.exchanger(make.unit(make.site(make.customer(name="Kiln Row"), name="Kiln Row"), tag="KR-01"))


def called_out() -> Any:
    """Another, for an urgent visit."""
    from tests import make

    lane = make.site(make.customer(name="Osier Lane"), name="Osier Lane")
    return make.exchanger(make.unit(lane, tag="OL-01"))


def gauges(of: Any) -> Any:
    from contractor.register.models import GaugeSet

    return GaugeSet.objects.create(name="Set 4", holder=of)


def visits(quay: Any, tech: Any) -> dict[str, Any]:
    from django.utils import timezone

    from tests import make

    now = timezone.now()
    early = now - dt.timedelta(hours=1)
    yard = make.site(make.customer(name="Larkfield Yard"), name="Larkfield Yard")
    return {
        "today": make.visit(quay, [tech], window_start=early, reason="routine", notes="Ring the desk first."),
        "survey": make.visit(quay, [tech], window_start=early, reason="survey"),
        "coming": make.visit(quay, [tech], window_start=now + COMING),
        "ending": make.visit(yard, [tech], window_start=early),
    }


def past(quay: Any, exchanger: Any, tech: Any) -> None:
    """Two clean visits and a fouled one, assessed as the worker would."""
    from diagnostics.services import assess_reading
    from tests import make
    from tests.diagnostics import world

    before = make.visit(quay, [tech], window_start=world.FIRST_DAY, state="done")
    read = world.clean_visits(before, exchanger, tech)
    read.append(world.reading(before, exchanger, tech, day=700, fouling_m2k_per_w=world.HEAVY))
    for one in read:
        assess_reading(one.pk)


def descale(tech: Any) -> Any:
    """A descale that everything is agreed for, at a site of its own, of a visit of today."""
    from django.utils import timezone

    from tests import make
    from tests.descales import world

    job = world.noticed(world.job(of=world.exchanger()))
    papers(job.cleaner)
    world.cleaner("sulfamic", name="Cool sulfamic", longest_time_s=7200.0, highest_temperature_k=313.15)
    site = job.exchanger.unit.site
    site.name, site.address, site.eyewash_place = "Larkfield Works", "4 Mill Lane", "By the roller door"
    site.emergency_phone = "01632 960997"
    site.save()
    early = timezone.now() - dt.timedelta(hours=1)
    found = job.fresh()
    found.visit = make.visit(site, [tech], window_start=early, reason="descale")
    found.save()
    return found


def papers(cleaner: Any) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    from contractor.register import services

    for paper in ("label", "safety_sheet"):
        file = SimpleUploadedFile(f"{paper}.pdf", b"%PDF-1.4 an invented " + paper.encode())
        services.keep_paper(cleaner, paper, file)


def barred(visit: Any) -> Any:
    """A descale at the same site that cannot be done."""
    from tests import make
    from tests.descales import world

    unit = make.unit(visit.site, tag="LW-02", capacity_w=10_500.0)
    job = world.agreed(world.job("sulfamic", make.exchanger(unit), name="Generic sulfamic, second"))
    found = job.fresh()
    found.visit = visit
    found.save()
    return found


def seed() -> dict[str, Any]:
    folk = people()
    quay, mill = sites()
    exchangers = machines(quay, mill)
    gauges(folk["tech"])
    past(quay, exchangers["first"], folk["tech"])
    booked = visits(quay, folk["tech"])
    chemical = descale(folk["tech"])
    booked["descale"] = chemical.visit
    return {
        **desk(quay, exchangers, folk),
        "people": {name: str(person.pk) for name, person in folk.items()},
        "sites": {"quay": str(quay.pk), "mill": str(mill.pk)},
        "exchangers": {name: str(row.pk) for name, row in exchangers.items()},
        "units": {name: str(row.unit_id) for name, row in exchangers.items()},
        "descale": str(chemical.pk),
        "unseen": str(unseen().pk),
        "called_out": str(called_out().pk),
        "secret": secret(),
        "barred": str(barred(chemical.visit).pk),
        "visits": {name: str(row.pk) for name, row in booked.items()},
    }


if __name__ == "__main__":
    django.setup()
    print(json.dumps(seed()))
