"""Which rows each actor finds in each list, and how the same route answers on theirs and on the retired."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.apps import apps

from tests.access.world import World

Names = tuple[str, ...]
# the order of ACTORS: owner office | assigned other | client other_client | anonymous
THEIRS = (200, 200, 404, 404, 404, 200, 401)
OURS = (200, 200, 200, 404, 200, 404, 401)
CREWS = (200, 200, 200, 200, 404, 404, 401)
OFFICE_ONLY = (200, 200, 404, 404, 404, 404, 401)
NOT_CLIENTS = (200, 200, 200, 404, 404, 404, 401)

OTHER_OBJECTS: dict[str, dict[str, tuple[int, ...]]] = {
    "api/v1/customers/<uuid:pk>/": {
        "their_customer": THEIRS,
        "retired_customer": (200, 200, 404, 404, 404, 404, 401),
    },
    "api/v1/client-accesses/<uuid:pk>/": {
        "their_client_access": (200, 200, 404, 404, 404, 200, 401),
        "retired_client_access": (200, 200, 404, 404, 404, 404, 401),
    },
    "api/v1/operating-tables/<uuid:pk>/": {
        "their_operating_table": (200, 200, 200, 200, 404, 200, 401),
        "retired_operating_table": CREWS,
    },
    "api/v1/operating-table-rows/<uuid:pk>/": {
        "their_operating_table_row": (200, 200, 200, 200, 404, 200, 401),
        "retired_operating_table_row": (200, 200, 200, 200, 200, 404, 401),
    },
    "api/v1/exchangers/<uuid:pk>/detectability/": {"their_exchanger": (200, 200, 404, 404, 404, 403, 401)},
    "api/v1/gauge-sets/<uuid:pk>/": {"their_gauge_set": CREWS, "retired_gauge_set": CREWS},
    "api/v1/instruments/<uuid:pk>/": {"their_instrument": CREWS, "retired_instrument": CREWS},
    **{
        f"api/v1/{address}": {f"their_{name}": CREWS, f"retired_{name}": CREWS}
        for address, name in (
            ("cleaners/<uuid:pk>/", "cleaner"),
            ("cleaners/<uuid:pk>/label/", "cleaner"),
            ("cleaners/<uuid:pk>/safety-sheet/", "cleaner"),
            ("cleaner-lots/<uuid:pk>/", "cleaner_lot"),
            ("rigs/<uuid:pk>/", "rig"),
        )
    },
    "api/v1/tags/<path:code>/": {"their_tag": (200, 200, 200, 200, 404, 200, 401)},
    "api/v1/readings/<uuid:pk>/": {
        "their_reading": THEIRS,
        "superseded_reading": NOT_CLIENTS,
        "colleagues_reading": NOT_CLIENTS,
    },
    "api/v1/findings/<uuid:pk>/": {"their_finding": THEIRS, "retired_finding": NOT_CLIENTS},
    "api/v1/findings/<uuid:pk>/photo/": {"their_finding": THEIRS},
    "api/v1/visits/<uuid:pk>/": {"their_visit": THEIRS},
    **{
        f"api/v1/{route}": {of: OFFICE_ONLY}
        for route, of in (
            ("descales/<uuid:pk>/", "their_descale"),
            ("descales/<uuid:pk>/now/", "their_descale"),
            ("descales/<uuid:pk>/record/", "their_descale"),
            ("descales/<uuid:pk>/deposit/", "their_descale"),
            ("descale-plans/<uuid:pk>/", "their_descale_plan"),
            ("held-waste/<uuid:pk>/", "their_held_waste"),
        )
    },
    "api/v1/descales/<uuid:pk>/cleaners/": {"their_descale": (400, 400, 404, 404, 404, 404, 401)},
    "api/v1/descale-notices/<uuid:pk>/": {"their_descale_notice": THEIRS},
    "api/v1/descale-notices/<uuid:pk>/label/": {"their_descale_notice": THEIRS},
    "api/v1/descale-notices/<uuid:pk>/safety-sheet/": {"their_descale_notice": THEIRS},
    "api/v1/discharges/<uuid:pk>/": {"their_discharge": THEIRS},
    "api/v1/discharges/<uuid:pk>/acceptance/": {"their_discharge": THEIRS},
    "api/v1/sites/<uuid:pk>/acceptance/": {"their_site": THEIRS},
    "api/v1/unit-events/<uuid:pk>/": {"their_unit_event": THEIRS, "taken_back_unit_event": NOT_CLIENTS},
    "api/v1/water-tests/<uuid:pk>/": {"their_water_test": THEIRS, "retired_water_test": NOT_CLIENTS},
    "api/v1/work-items/<uuid:pk>/": {"their_work_item": (200, 200, 404, 404, 404, 200, 401)},
    "api/v1/assessments/<int:pk>/": {"their_assessment": THEIRS, "unreported_assessment": NOT_CLIENTS},
    "api/v1/readings/<uuid:pk>/assessment/": {"their_reading": THEIRS, "colleagues_reading": NOT_CLIENTS},
    "api/v1/surveys/<int:pk>/": {"their_survey": (200, 200, 404, 404, 404, 404, 401)},
    "api/v1/rankings/<int:pk>/": {"their_ranking": THEIRS, "unreported_ranking": NOT_CLIENTS},
    "api/v1/readings/<uuid:pk>/ranking/": {"their_reading": THEIRS, "colleagues_reading": NOT_CLIENTS},
    "api/v1/documents/<uuid:pk>/": {"their_document": THEIRS, "prepared_document": NOT_CLIENTS},
    "api/v1/documents/<uuid:pk>/file/": {"their_document": THEIRS, "prepared_document": NOT_CLIENTS},
    **{
        f"api/v1/{name.replace('_', '-')}s/<uuid:pk>/": {f"their_{name}": THEIRS, f"retired_{name}": OURS}
        for name in ("site", "unit", "exchanger")
    },
}


@dataclass(frozen=True)
class List:
    """`shown`: the names in the world that each actor finds; None where the list is forbidden.

    common   rows that name no customer and may be seen by all who see the list
    besides  ids that the world has made along the way, by actor
    """

    route: str
    of: str
    shown: dict[str, Names | None]
    asked: dict[str, str] = field(default_factory=dict)
    widest: dict[str, str] = field(default_factory=dict)
    common: bool = False
    filters: Names = ()
    besides: Callable[[World, str], set[str]] | None = None

    def others(self, world: World, actor: str) -> set[str]:
        return self.besides(world, actor) if self.besides else set()

    def theirs(self, world: World) -> dict[str, Any]:
        return {name: getattr(world, f"their_{name}") for name in self.filters}


def by_site(route: str, of: str, *ours: str, client_too: Names | None = None,
            office_too: Names = (), **given: Any) -> List:  # fmt: skip
    """Rows of a site: the office all, our crew and client ours, the other client theirs."""
    mine = (of, *ours)
    shown: dict[str, Names | None] = {
        "owner": (*mine, *office_too, f"their_{of}"),
        "office": (*mine, *office_too, f"their_{of}"),
        "assigned": mine,
        "other": (),
        "client": mine if client_too is None else client_too,
        "other_client": (f"their_{of}",),
    }
    return List(route, of, shown, **given)


def crew_by_site(route: str, of: str, **given: Any) -> List:
    """Rows of a site that the crew works with: clients are not shown the list."""
    both = (of, f"their_{of}")
    shown: dict[str, Names | None] = {
        "owner": both, "office": both, "assigned": (of,), "other": (), "client": None, "other_client": None,
    }  # fmt: skip
    return List(route, of, shown, **given)


def crew_only(route: str, of: str) -> List:
    both = (of, f"their_{of}")
    shown: dict[str, Names | None] = {
        **dict.fromkeys(("owner", "office", "assigned", "other"), both),
        "client": None,
        "other_client": None,
    }
    return List(route, of, shown, common=True)


def own_token(world: World, actor: str) -> set[str]:
    return (
        every("accounts.Token")
        if actor == "owner"
        else every("accounts.Token", person=getattr(world, actor).pk)
    )


def every(model: str, **which: str) -> set[str]:
    rows = apps.get_model(model)._default_manager.filter(**which)
    return {str(pk) for pk in rows.values_list("pk", flat=True)}


def people_seen(world: World, actor: str) -> set[str]:
    """The office finds the crew and itself."""
    if actor == "owner":
        return every("accounts.Person")
    return every("accounts.Person", role="technician") | {str(getattr(world, actor).pk)}


NOBODY_BUT_OFFICE: dict[str, Names | None] = {
    "owner": (), "office": (), "assigned": None, "other": None, "client": None, "other_client": None,
}  # fmt: skip
BY_SITE_FILTERS = ("site", "unit")
LISTS = [
    by_site("customers/", "customer", office_too=("quiet_customer",), widest={"retired": "all"}),
    by_site("sites/", "site", "quiet_site", widest={"retired": "all"}, filters=("customer",)),
    by_site("water-tests/", "water_test", widest={"retired": "all"}, filters=("site", "customer")),
    by_site("units/", "unit", widest={"retired": "all"}, filters=("site", "customer", "operating_table")),
    by_site("exchangers/", "exchanger", widest={"retired": "all"}, filters=("unit", "site", "customer")),
    by_site("unit-events/", "unit_event", widest={"taken_back": "all"}, filters=BY_SITE_FILTERS),
    by_site("visits/", "visit", "open_visit", "quiet_visit", "colleagues_visit", filters=("site", "customer"),
            besides=lambda world, actor: set() if actor in ("other", "other_client")
            else {str(world.retired_site.visits.get().pk)}),
    by_site("readings/", "reading", "colleagues_reading", client_too=("reading",),
            widest={"superseded": "all"}, filters=("visit", "exchanger", "unit", "site", "customer")),
    by_site("findings/", "finding", "bare_finding", "colleagues_finding",
            client_too=("finding", "bare_finding"),
            widest={"retired": "all"},
            filters=("visit", *BY_SITE_FILTERS),
            besides=lambda world, actor: {str(world.their_bare_finding.pk)}
            if actor in ("owner", "office", "other_client") else set()),
    by_site("assessments/", "assessment", "unreported_assessment", client_too=("assessment",),
            filters=("exchanger", "reading", "visit", *BY_SITE_FILTERS)),
    List("surveys/", "survey", shown={
        "owner": ("survey", "their_survey"), "office": ("survey", "their_survey"), "assigned": ("survey",),
        "other": (), "client": (), "other_client": (),
    }, filters=("visit", "site")),
    by_site("rankings/", "ranking", "unreported_ranking", client_too=("ranking",),
            filters=("exchanger", "reading", "visit", *BY_SITE_FILTERS)),
    by_site("documents/", "document", "prepared_document", client_too=("document",),
            filters=("site", "customer", "exchanger", "visit", "assessment")),
    List("client-accesses/", "client_access", widest={"retired": "all"}, filters=("customer",), shown={
        "owner": ("client_access", "their_client_access"), "office": ("client_access", "their_client_access"),
        "assigned": (), "other": (), "client": ("client_access",), "other_client": ("their_client_access",),
    }),
    List("operating-tables/", "operating_table", shown={
        **dict.fromkeys(("owner", "office", "assigned", "other"),
                        ("operating_table", "their_operating_table")),
        "client": ("operating_table",), "other_client": ("their_operating_table",),
    }, widest={"retired": "all"}),
    List("operating-table-rows/", "operating_table_row", shown={
        **dict.fromkeys(("owner", "office", "assigned", "other"),
                        ("operating_table_row", "their_operating_table_row")),
        "client": ("operating_table_row",), "other_client": ("their_operating_table_row",),
    }, widest={"retired": "all"}),
    crew_only("gauge-sets/", "gauge_set"),
    crew_only("instruments/", "instrument"),
    crew_only("cleaners/", "cleaner"),
    crew_by_site("descales/", "descale", filters=("site", "unit", "customer", "exchanger")),
    crew_by_site("descale-plans/", "descale_plan", filters=("site", "unit", "descale")),
    crew_by_site("held-waste/", "held_waste", filters=("site", "unit", "descale")),
    by_site("descale-notices/", "descale_notice", filters=("site", "unit", "descale")),
    by_site("discharges/", "discharge", filters=("site", "unit", "descale")),
    crew_only("cleaner-lots/", "cleaner_lot"),
    crew_only("rigs/", "rig"),
    List("changes/", "change", NOBODY_BUT_OFFICE, asked={"table": "register.site"},
         besides=lambda world, actor: every("trail.Change", table="register.site")),
    List("people/", "assigned", NOBODY_BUT_OFFICE, besides=people_seen),
    List("people-certificates/", "certificate", {**NOBODY_BUT_OFFICE, "owner": ("certificate",),
         "office": ("certificate",), "assigned": ("certificate",), "other": ()}),
    List("tokens/", "token", dict.fromkeys(NOBODY_BUT_OFFICE, ()), besides=own_token),
    List("work-items/", "work_item", shown={
        "owner": (), "office": (), "assigned": ("work_item",), "other": (), "client": (),
        "other_client": ("their_work_item",),
    }, besides=lambda world, actor: every("workqueue.WorkItem") if actor in ("owner", "office") else set()),
]  # fmt: skip
