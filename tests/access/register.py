from __future__ import annotations

from django.core.files.base import ContentFile

from tests.access.rows import ANYONE_LISTS, OFFICE_ADDS, OFFICE_CHANGES, SEEN, UNSEEN, record, row

# tables and gauge sets name no customer: the crew sees all of them, a client the tables of their units
TABLE_SEEN = "200 200 | 200 200 | 200 404 | 401"
TABLE_OFFICE = "200 200 | 403 403 | 403 404 | 401"
CREW_SEES = "200 200 | 200 200 | 404 404 | 401"
CREW_OFFICE = "200 200 | 403 403 | 404 404 | 401"
CREW_LISTS = "200 200 | 200 200 | 403 403 | 401"
OFFICE_ONLY = "200 200 | 403 403 | 403 403 | 401"
# a client sees their own access; nobody but the office sees others'
ACCESS_SEEN = "200 200 | 404 404 | 200 404 | 401"
ACCESS_OFFICE = "200 200 | 404 404 | 403 404 | 401"

ROWS = [
    *record(
        "customers/",
        "customer",
        new=lambda world: {"name": "St Brannoc Clinic"},
        changed=lambda world: {"phone": "1"},
        to_retire=("quiet_customer", UNSEEN),
        to_bring_back=UNSEEN,
    ),
    *record(
        "client-accesses/",
        "client_access",
        new=lambda world: {"person": str(world.new_client.pk), "customer": str(world.customer.pk)},
        changed=lambda world: {"sites": [str(world.site.pk)]},
        seen=ACCESS_SEEN,
        office=ACCESS_OFFICE,
        to_bring_back=UNSEEN,
    ),
    *record(
        "sites/",
        "site",
        new=lambda world: {"customer": str(world.customer.pk), "name": "North wing"},
        changed=lambda world: {"elevation_m": 120.0},
        to_retire=("quiet_site", OFFICE_CHANGES),
    ),
    row("GET", "sites/<uuid:pk>/acceptance/", SEEN, of="site"),
    row("POST", "sites/<uuid:pk>/acceptance/", "201 201 | 403 404 | 403 404 | 401", of="site",
        body=lambda world: {"file": ContentFile(b"%PDF-1.4 ", name="a.pdf")}, format="multipart"),
    *record(
        "water-tests/",
        "water_test",
        new=lambda world: {"site": str(world.site.pk), "taken_at": world.now.isoformat(), "ph": 7.9},
        changed=lambda world: {"ph": 7.5},
        to_bring_back="200 200 | 403 404 | 404 404 | 401",
    ),
    *record(
        "units/",
        "unit",
        new=lambda world: {"site": str(world.site.pk), "tag": "new-1", "refrigerant": "R410A"},
        changed=lambda world: {"place": "roof"},
    ),
    *record(
        "exchangers/",
        "exchanger",
        new=lambda world: {"unit": str(world.unit.pk), "name": "2", "kind": "coaxial"},
        changed=lambda world: {"metal": "copper"},
    ),
    *record(
        "operating-tables/",
        "operating_table",
        new=lambda world: {"name": "Model B", "rows": [{"mode": "heating"}]},
        changed=lambda world: {"rating_includes_fouling": True},
        seen=TABLE_SEEN,
        office=TABLE_OFFICE,
        to_bring_back=CREW_OFFICE,
    ),
    *record(
        "operating-table-rows/",
        "operating_table_row",
        new=lambda world: {"table": str(world.operating_table.pk), "mode": "cooling"},
        changed=lambda world: {"stage": "low"},
        seen=TABLE_SEEN,
        office=TABLE_OFFICE,
    ),
    *record(
        "gauge-sets/",
        "gauge_set",
        new=lambda world: {"name": "Set 9", "holder": str(world.other.pk)},
        changed=lambda world: {"holder": None},
        seen=CREW_SEES,
        office=CREW_OFFICE,
        lists=CREW_LISTS,
    ),
    *record(
        "instruments/",
        "instrument",
        new=lambda world: {
            "gauge_set": str(world.gauge_set.pk), "reading": "volts", "repeating": 0.01, "random": 0.01,
            "relative": True,
        },
        changed=lambda world: {"random": 0.05},
        seen=CREW_SEES,
        office=CREW_OFFICE,
        lists=CREW_LISTS,
    ),
    *record(
        "cleaners/",
        "cleaner",
        new=lambda world: {"name": "Cleaner 9"},
        changed=lambda world: {"notes": "shelf 3"},
        seen=CREW_SEES,
        office=CREW_OFFICE,
        lists=CREW_LISTS,
    ),
    *(
        each
        for paper in ("label", "safety-sheet")
        for each in (
            row("GET", f"cleaners/<uuid:pk>/{paper}/", CREW_SEES, of="cleaner"),
            row("POST", f"cleaners/<uuid:pk>/{paper}/", "201 201 | 403 403 | 404 404 | 401", of="cleaner",
                body=lambda world: {"file": ContentFile(b"%PDF-1.4 ", name="a.pdf")}, format="multipart"),
        )
    ),
    *record(
        "cleaner-lots/",
        "cleaner_lot",
        new=lambda world: {"cleaner": str(world.cleaner.pk), "lot": "8"},
        changed=lambda world: {"quantity_kg": 12.5},
        seen=CREW_SEES,
        office=CREW_OFFICE,
        lists=CREW_LISTS,
    ),
    *record(
        "rigs/",
        "rig",
        new=lambda world: {"name": "Rig 9"},
        changed=lambda world: {"sound_level_db": 70.0},
        seen=CREW_SEES,
        office=CREW_OFFICE,
        lists=CREW_LISTS,
    ),
    row("GET", "unit-events/", ANYONE_LISTS),
    row("POST", "unit-events/", OFFICE_ADDS,
        body=lambda world: {"unit": str(world.unit.pk), "at": world.now.isoformat(), "what": "descaled"}),
    row("GET", "unit-events/<uuid:pk>/", SEEN, of="unit_event"),
    row("PATCH", "unit-events/<uuid:pk>/", OFFICE_CHANGES, of="unit_event",
        body=lambda world: {"note": "2 kg"}),
    row("POST", "unit-events/<uuid:pk>/take-back/", OFFICE_CHANGES, of="unit_event"),
    row("GET", "tags/<path:code>/", "200 200 | 200 200 | 200 404 | 401", of="tag"),
    row("GET", "changes/", OFFICE_ONLY),
    row("GET", "changes/<int:pk>/", "200 200 | 404 404 | 404 404 | 401", of="change"),
]  # fmt: skip
