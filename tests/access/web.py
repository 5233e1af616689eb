"""The pages: who may open which. A stranger is sent to sign in (302)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from tests import make
from tests.access.rows import ACTORS
from tests.access.world import World


@dataclass(frozen=True)
class PageRow:
    """of: the name in the world that fills the placeholder; form: what a POST sends, made from the world."""

    method: str
    route: str
    statuses: dict[str, int]
    of: str = ""
    form: Callable[[World], dict[str, Any]] | None = None

    @property
    def name(self) -> str:
        return f"{self.method} /{self.route}" + (f" of {self.of}" if self.of else "")


def page(method: str, route: str, statuses: str, **given: Any) -> PageRow:
    """`statuses` in the order of ACTORS: owner office | assigned other | client other_client | anonymous."""
    codes = [int(code) for code in statuses.replace("|", " ").split()]
    return PageRow(method, route, dict(zip(ACTORS, codes, strict=True)), **given)


OPEN = "200 200 | 200 200 | 200 200 | 200"
ALL = "200 200 | 200 200 | 200 200 | 302"
ALL_SEND = "302 302 | 302 302 | 302 302 | 302"
OFFICE_ONLY = "200 200 | 403 403 | 403 403 | 302"
CREW_ONLY = "200 200 | 200 200 | 403 403 | 302"
# a technician without a visit there finds nothing
CREW_THERE = "200 200 | 200 404 | 403 403 | 302"
OWN_CLIENT = "403 403 | 403 403 | 200 404 | 302"
CLIENTS_ONLY = "403 403 | 403 403 | 200 200 | 302"
OFFICE_SENDS = "302 302 | 403 403 | 403 403 | 302"
OFFICE_OUT_OF_TURN = "409 409 | 403 403 | 403 403 | 302"
OWNER_ONLY = "200 403 | 403 403 | 403 403 | 302"
OWNER_SENDS = "302 403 | 403 403 | 403 403 | 302"


def record_pages(
    slug: str,
    of: str,
    new: dict[str, Any],
    change: dict[str, Any],
    ends: str = "",
    comes_back: str = "",
    writes: tuple[str, str] = (OFFICE_ONLY, OFFICE_SENDS),
) -> list[PageRow]:
    """The pages of one record; forms are sent as the pages fill them in, with `change` over it."""
    row = f"office/{slug}/<uuid:pk>/"
    opens, sends = writes
    rows = [
        page("GET", f"office/{slug}/", OFFICE_ONLY),
        page("GET", f"office/{slug}/new/", opens),
        page("POST", f"office/{slug}/new/", sends, form=lambda world: filled(world, new)),
        page("GET", row, OFFICE_ONLY, of=of),
        page("GET", f"{row}edit/", opens, of=of),
        page(
            "POST",
            f"{row}edit/",
            sends,
            of=of,
            form=lambda world: {
                **filled(world, new),
                "version": str(getattr(world, of).version),
                **filled(world, change),
            },
        ),
    ]
    if ends:
        rows.append(page("POST", f"{row}retire/", sends, of=ends))
    if comes_back:
        rows.append(page("POST", f"{row}bring-back/", sends, of=comes_back))
    return rows


def booking(world: World) -> dict[str, Any]:
    return {
        "day": "2027-05-04",
        "starts": "09:00",
        "ends": "11:00",
        "reason": "routine",
        "crew": str(world.other.pk),
    }


def sheet() -> SimpleUploadedFile:
    return SimpleUploadedFile("label.pdf", b"%PDF-1.4 a sheet", "application/pdf")


def filled(world: World, given: dict[str, Any]) -> dict[str, Any]:
    """`@site` stands for the id of the world's site."""
    return {
        name: str(getattr(world, value[1:]).pk) if str(value).startswith("@") else value
        for name, value in given.items()
    }


NEW = "some quite new words"

ROWS = [
    page("GET", "", "302 302 | 302 302 | 302 302 | 200"),
    page("GET", "sign-in/", "302 302 | 302 302 | 302 302 | 200"),
    page("POST", "sign-in/", "302 302 | 302 302 | 302 302 | 302",
         form=lambda world: {"username": world.other.email, "password": make.PASSWORD}),
    page("POST", "sign-out/", ALL_SEND),
    page("GET", "forgotten/", OPEN),
    page("POST", "forgotten/", OPEN, form=lambda world: {"email": "nobody@example.org"}),
    page("GET", "set-password/<str:secret>/", OPEN, of="password_secret"),
    page("POST", "set-password/<str:secret>/", ALL_SEND, of="password_secret",
         form=lambda world: {"new_password": NEW}),
    page("GET", "account/", ALL),
    page("POST", "account/", ALL_SEND, form=lambda world: {"name": "Someone", "units": "si"}),
    page("GET", "account/password/", ALL),
    page("POST", "account/password/", ALL_SEND,
         form=lambda world: {"current_password": make.PASSWORD, "new_password": NEW}),
    page("POST", "account/tokens/<int:pk>/end/", "404 404 | 302 404 | 404 404 | 302", of="token"),
    page("POST", "account/sessions/<int:pk>/end/", "404 404 | 302 404 | 404 404 | 302", of="page_session"),
    page("GET", "help/", ALL),
    page("GET", "office/", OFFICE_ONLY),
    page("GET", "office/search/", OFFICE_ONLY),
    page("GET", "office/register/", OFFICE_ONLY),
    page("GET", "office/visits/", OFFICE_ONLY),
    page("GET", "office/visits/new/", OFFICE_ONLY),
    page("POST", "office/visits/new/", OFFICE_SENDS,
         form=lambda world: {**booking(world), "site": str(world.site.pk)}),
    page("GET", "office/visits/<uuid:pk>/", OFFICE_ONLY, of="visit"),
    page("GET", "office/visits/<uuid:pk>/move/", OFFICE_ONLY, of="open_visit"),
    page("POST", "office/visits/<uuid:pk>/move/", OFFICE_SENDS, of="open_visit",
         form=lambda world: {**booking(world), "version": str(world.open_visit.version)}),
    page("GET", "office/visits/<uuid:pk>/call-off/", OFFICE_ONLY, of="open_visit"),
    page("POST", "office/visits/<uuid:pk>/call-off/", OFFICE_SENDS, of="open_visit",
         form=lambda world: {"reason": "closed"}),
    page("GET", "office/readings/<uuid:pk>/", OFFICE_ONLY, of="reading"),
    page("GET", "office/readings/<uuid:pk>/correct/", OFFICE_ONLY, of="reading"),
    page("POST", "office/readings/<uuid:pk>/correct/", OFFICE_SENDS, of="reading",
         form=lambda world: {"entering_water": "86", "entering_water_unit": "degF", "reason": "misread",
                             "taken_at": "2026-05-04T09:30", "purpose": "routine", "stage": "full"}),
    page("GET", "office/readings/<uuid:pk>/move/", OFFICE_ONLY, of="reading"),
    page("POST", "office/readings/<uuid:pk>/move/", OFFICE_SENDS, of="reading",
         form=lambda world: {"exchanger": str(world.exchanger.pk), "mode": "heating",
                             "reason": "wrong mode"}),
    page("GET", "office/readings/<uuid:pk>/set-aside/", OFFICE_ONLY, of="reading"),
    page("POST", "office/readings/<uuid:pk>/set-aside/", OFFICE_SENDS, of="reading",
         form=lambda world: {"reason": "entered twice"}),
    page("GET", "office/documents/", OFFICE_ONLY),
    page("GET", "office/documents/<uuid:pk>/", OFFICE_ONLY, of="document"),
    page("POST", "office/documents/<uuid:pk>/release/", OFFICE_SENDS, of="prepared_document"),
    page("GET", "office/documents/<uuid:pk>/withdraw/", OFFICE_ONLY, of="document"),
    page("POST", "office/documents/<uuid:pk>/withdraw/", OFFICE_SENDS, of="document",
         form=lambda world: {"reason": "wrong unit"}),
    page("GET", "office/documents/<uuid:pk>/send/", OFFICE_ONLY, of="document"),
    page("POST", "office/documents/<uuid:pk>/send/", OFFICE_SENDS, of="document",
         form=lambda world: {"to": "someone@example.org"}),
    page("POST", "office/exchangers/<uuid:pk>/report/", OFFICE_SENDS, of="exchanger"),
    page("POST", "office/people/<uuid:pk>/letter/", OWNER_SENDS, of="other"),
    page("POST", "office/people/<uuid:pk>/link/", OWNER_ONLY, of="other"),
    page("POST", "office/people/<uuid:pk>/end-sign-ins/", OWNER_SENDS, of="other"),
    page("GET", "office/descales/", OFFICE_ONLY),
    page("GET", "office/descales/new/", OFFICE_ONLY),
    page("POST", "office/descales/new/", OFFICE_SENDS,
         form=lambda world: {"exchanger": str(world.their_free_exchanger.pk), "because": "fouled"}),
    page("GET", "office/descales/<uuid:pk>/", OFFICE_ONLY, of="descale"),
    page("GET", "office/descales/<uuid:pk>/about/", OFFICE_ONLY, of="descale"),
    page("POST", "office/descales/<uuid:pk>/about/", OFFICE_SENDS, of="descale",
         form=lambda world: {"visit": "", "strainer_inside_valves": "true", "vent_at_both_tops": "unknown"}),
    page("GET", "office/descales/<uuid:pk>/cleaners/", OFFICE_ONLY, of="descale"),
    page("GET", "office/descales/<uuid:pk>/price/", OFFICE_ONLY, of="descale"),
    page("POST", "office/descales/<uuid:pk>/price/", OFFICE_SENDS, of="descale",
         form=lambda world: {"amount": "480", "currency": "EUR"}),
    page("GET", "office/descales/<uuid:pk>/consent/", OFFICE_ONLY, of="descale"),
    page("POST", "office/descales/<uuid:pk>/consent/", OFFICE_SENDS, of="descale",
         form=lambda world: {"said_by": "the manager", "said_at": "2026-05-04T09:30"}),
    page("GET", "office/descales/<uuid:pk>/plan/", OFFICE_ONLY, of="descale"),
    page("POST", "office/descales/<uuid:pk>/plan/", OFFICE_OUT_OF_TURN, of="descale",
         form=lambda world: {"cleaner": str(world.cleaner.pk), "rig": str(world.rig.pk)}),
    page("POST", "office/descales/<uuid:pk>/paper/", OFFICE_SENDS, of="descale",
         form=lambda world: {"kind": "job_sheet"}),
    page("GET", "office/descales/<uuid:pk>/notice/", OFFICE_ONLY, of="descale"),
    page("POST", "office/descales/<uuid:pk>/notice/", OFFICE_OUT_OF_TURN, of="descale",
         form=lambda world: {"work_starts_at": "2027-05-04T09:30", "hours_without_cooling": "3",
                             "chemical": "citric", "noise": "a pump", "others_affected": "none",
                             "sent_to": "the manager"}),
    page("GET", "office/descales/<uuid:pk>/call-off/", OFFICE_ONLY, of="descale"),
    page("POST", "office/descales/<uuid:pk>/call-off/", OFFICE_SENDS, of="descale",
         form=lambda world: {"reason": "sold"}),
    page("POST", "office/descales/<uuid:pk>/proof/", OFFICE_SENDS, of="descale"),
    page("POST", "office/descales/<uuid:pk>/certify/", OFFICE_SENDS, of="descale"),
    page("POST", "office/discharges/<uuid:pk>/acceptance/", OFFICE_SENDS, of="discharge",
         form=lambda world: {"file": sheet()}),
    page("GET", "office/held-waste/<uuid:pk>/collected/", OFFICE_ONLY, of="held_waste"),
    page("POST", "office/held-waste/<uuid:pk>/collected/", OFFICE_SENDS, of="held_waste",
         form=lambda world: {"who": "a licensed carrier, note 7"}),
    page("GET", "office/work/", OFFICE_ONLY),
    page("POST", "office/work/<uuid:pk>/retry/", OFFICE_SENDS, of="work_item"),
    *record_pages("customers", "customer", {"name": "Fresh"}, {"name": "Other"}, "quiet_customer",
                  "retired_customer"),
    *record_pages("sites", "site", {"customer": "@customer", "name": "Fresh", "time_zone": "UTC",
                                    "antifreeze": "none", "elevation": "900", "elevation_unit": "ft"},
                  {"name": "Other"}, "quiet_site", "retired_site"),
    *record_pages("units", "unit", {"site": "@site", "tag": "new-9", "refrigerant": "R410A", "stages": "1",
                                    "kind": "water_cooled_chiller", "capacity": "36", "capacity_unit": "MBH"},
                  {"tag": "new-8"}, "unit", "retired_unit"),
    *record_pages("exchangers", "exchanger", {"unit": "@unit", "name": "fresh", "kind": "coaxial",
                                              "modes": "both"},
                  {"name": "other"}, "exchanger", "retired_exchanger"),
    *record_pages("events", "unit_event", {"unit": "@unit", "at": "2026-05-04T09:30",
                                           "what": "charge_changed"},
                  {"note": "leak mended"}, "unit_event"),
    *record_pages("water-tests", "water_test", {"site": "@site", "taken_at": "2026-05-04T09:30", "ph": "8.1"},
                  {"ph": "8.2"}, "water_test", "retired_water_test"),
    *record_pages("accesses", "client_access", {"person": "@new_client", "customer": "@customer"}, {},
                  "client_access", "retired_client_access"),
    *record_pages("tables", "operating_table", {"name": "fresh"}, {"name": "other"}, "operating_table",
                  "retired_operating_table"),
    *record_pages("table-rows", "operating_table_row", {"table": "@operating_table", "mode": "cooling",
                                                         "stage": "full"},
                  {"stage": "low"}, "operating_table_row", "retired_operating_table_row"),
    *record_pages("gauge-sets", "gauge_set", {"name": "fresh"}, {"name": "other"}, "gauge_set",
                  "retired_gauge_set"),
    *record_pages("instruments", "instrument", {"gauge_set": "@gauge_set", "reading": "head_pressure",
                                                "repeating": "1", "random": "1", "limits_in": "psi"},
                  {"random": "2"}, "instrument", "retired_instrument"),
    *record_pages("cleaners", "cleaner", {"name": "Fresh"}, {"name": "Other", "protection": "face shield"},
                  "cleaner", "retired_cleaner"),
    *record_pages("lots", "cleaner_lot", {"cleaner": "@cleaner", "lot": "8"}, {"place": "cage"},
                  "cleaner_lot",
                  "retired_cleaner_lot"),
    *record_pages("rigs", "rig", {"name": "Fresh", "pump_curve": "0 L/s 12 m\n1 L/s 4 m"}, {"name": "Other"},
                  "rig", "retired_rig"),
    page("POST", "office/sites/<uuid:pk>/acceptance/", OFFICE_SENDS, of="site",
         form=lambda world: {"file": sheet()}),
    page("POST", "office/cleaners/<uuid:pk>/papers/", OFFICE_SENDS, of="cleaner",
         form=lambda world: {"paper": "label", "file": sheet()}),
    *record_pages("people", "other", {"name": "Fresh", "email": "fresh@example.org", "role": "technician",
                                      "units": "si", "decimal_mark": "point", "is_active": "on"},
                  {"phone": "1"},
                  writes=(OWNER_ONLY, OWNER_SENDS)),
    *record_pages("certificates", "certificate", {"person": "@assigned", "kind": "first_aid",
                                                  "expires_on": "2027-05-04"}, {"number": "B 7"}),
    page("GET", "client/", CLIENTS_ONLY),
    page("GET", "client/sites/<uuid:pk>/", OWN_CLIENT, of="site"),
    page("GET", "client/units/<uuid:pk>/", OWN_CLIENT, of="unit"),
    page("GET", "crew/", CREW_ONLY),
    page("GET", "crew/who/", CREW_ONLY),
    page("GET", "crew/open-at/<uuid:pk>/", CREW_ONLY, of="unit"),
    page("GET", "crew/unsent/", CREW_ONLY),
    page("GET", "crew/tag/", CREW_ONLY),
    page("GET", "crew/visits/<uuid:pk>/", CREW_THERE, of="visit"),
    page("GET", "crew/visits/<uuid:pk>/survey/", CREW_THERE, of="visit"),
    page("GET", "crew/units/<uuid:pk>/", CREW_THERE, of="unit"),
    page("GET", "crew/exchangers/<uuid:pk>/reading/", CREW_THERE, of="exchanger"),
    page("GET", "crew/readings/<uuid:pk>/told/", CREW_THERE, of="reading"),
    page("GET", "crew/sites/<uuid:pk>/tags/", CREW_THERE, of="site"),
    page("GET", "crew/descales/<uuid:pk>/", CREW_THERE, of="descale"),
    page("GET", "t/<path:code>/", "302 302 | 302 200 | 403 403 | 302", of="tag"),
    page("GET", "favicon.ico", "302 302 | 302 302 | 302 302 | 302"),
    page("GET", "worker.js", OPEN),
]  # fmt: skip
