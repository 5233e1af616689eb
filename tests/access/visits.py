from __future__ import annotations

import io
import uuid

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from tests.access.rows import ANYONE_LISTS, OFFICE_ADDS, OFFICE_CHANGES, SEEN, row
from tests.access.world import World

# `other` does not see the visit that is named in the body: for them it is not there
CREW_POSTS = "201 201 | 201 400 | 403 403 | 401"
CREW_CHANGES = "200 200 | 200 404 | 403 404 | 401"
CREW_REPLACES = "201 201 | 201 404 | 403 404 | 401"
# what was corrected or taken back is there for the crew; for a client it is not
CREW_CHANGES_RETIRED = "200 200 | 200 404 | 404 404 | 401"


def reading(world: World) -> dict[str, object]:
    return {
        "id": str(uuid.uuid4()),
        "visit": str(world.visit.pk),
        "exchanger": str(world.exchanger.pk),
        "taken_at": world.now.isoformat(),
        "mode": "heating",
        "as_typed": {"entering_water": {"value": "45", "unit": "degF"}},
    }


def photo(world: World) -> dict[str, object]:
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "PNG")
    return {"photo": SimpleUploadedFile("photo.png", out.getvalue(), "image/png")}


# a colleague's visit at a site that `assigned` sees: read, not written
NOT_OF_THE_CREW = "200 200 | 403 404 | 403 404 | 401"
NOT_OF_THE_CREW_POSTS = "201 201 | 403 400 | 403 403 | 401"
# nor has the client a report of what the colleague read
NOT_REPORTED = "200 200 | 403 404 | 404 404 | 401"
NOT_REPORTED_REPLACES = "201 201 | 403 404 | 404 404 | 401"

ROWS = [
    row("GET", "visits/", ANYONE_LISTS),
    row("POST", "visits/", OFFICE_ADDS,
        body=lambda world: {"site": str(world.site.pk), "window_start": "2027-05-03T09:00:00Z",
                            "window_end": "2027-05-03T12:00:00Z", "crew": [str(world.other.pk)]}),
    row("POST", "visits/urgent/", "201 201 | 201 201 | 403 403 | 401",
        body=lambda world: {"id": str(uuid.uuid4()), "tag": world.unit.tag}),
    row("GET", "visits/<uuid:pk>/", SEEN, of="visit"),
    row("PATCH", "visits/<uuid:pk>/", OFFICE_CHANGES, of="visit", body=lambda world: {"notes": "ring first"}),
    row("POST", "visits/<uuid:pk>/call-off/", OFFICE_CHANGES, of="open_visit",
        body=lambda world: {"reason": "closed for the day"}),
    row("POST", "visits/<uuid:pk>/start/", CREW_CHANGES, of="visit"),
    row("POST", "visits/<uuid:pk>/finish/", CREW_CHANGES, of="visit"),
    row("GET", "readings/", ANYONE_LISTS),
    row("POST", "readings/", CREW_POSTS, body=reading),
    row("GET", "readings/<uuid:pk>/", SEEN, of="reading"),
    row("POST", "readings/<uuid:pk>/correct/", CREW_REPLACES, of="reading",
        body=lambda world: {"strainer": "dirty", "reason": "forgot it"}),
    row("POST", "readings/<uuid:pk>/move/", CREW_REPLACES, of="reading",
        body=lambda world: {"exchanger": str(world.exchanger.pk), "mode": "heating", "reason": "wrong mode"}),
    row("POST", "readings/<uuid:pk>/set-aside/", CREW_CHANGES, of="reading",
        body=lambda world: {"reason": "entered twice"}),
    row("GET", "findings/", ANYONE_LISTS),
    row("POST", "findings/", CREW_POSTS,
        body=lambda world: {"visit": str(world.visit.pk), "kind": "strainer", "value": "dirty"}),
    row("GET", "findings/<uuid:pk>/", SEEN, of="finding"),
    row("PATCH", "findings/<uuid:pk>/", CREW_CHANGES, of="finding", body=lambda world: {"note": "brown"}),
    row("POST", "findings/<uuid:pk>/retire/", CREW_CHANGES, of="finding"),
    row("POST", "findings/<uuid:pk>/bring-back/", CREW_CHANGES_RETIRED, of="retired_finding"),
    row("GET", "findings/<uuid:pk>/photo/", SEEN, of="finding"),
    row("POST", "findings/<uuid:pk>/photo/", CREW_REPLACES, of="bare_finding", body=photo,
        format="multipart"),
    row("GET", "visits/<uuid:pk>/", SEEN, of="colleagues_visit"),
    row("POST", "visits/<uuid:pk>/start/", NOT_OF_THE_CREW, of="colleagues_visit"),
    row("POST", "visits/<uuid:pk>/finish/", NOT_OF_THE_CREW, of="colleagues_visit"),
    row("POST", "readings/", NOT_OF_THE_CREW_POSTS, of="colleagues_visit",
        body=lambda world: {**reading(world), "visit": str(world.colleagues_visit.pk)}),
    row("POST", "readings/<uuid:pk>/correct/", NOT_REPORTED_REPLACES, of="colleagues_reading",
        body=lambda world: {"strainer": "dirty", "reason": "forgot it"}),
    row("POST", "readings/<uuid:pk>/move/", NOT_REPORTED_REPLACES, of="colleagues_reading",
        body=lambda world: {"exchanger": str(world.exchanger.pk), "mode": "heating", "reason": "wrong mode"}),
    row("POST", "readings/<uuid:pk>/set-aside/", NOT_REPORTED, of="colleagues_reading",
        body=lambda world: {"reason": "entered twice"}),
    row("POST", "findings/", NOT_OF_THE_CREW_POSTS, of="colleagues_visit",
        body=lambda world: {"visit": str(world.colleagues_visit.pk), "kind": "strainer", "value": "dirty"}),
    row("PATCH", "findings/<uuid:pk>/", NOT_REPORTED, of="colleagues_finding",
        body=lambda world: {"note": "brown"}),
    row("POST", "findings/<uuid:pk>/retire/", NOT_REPORTED, of="colleagues_finding"),
    row("POST", "findings/<uuid:pk>/photo/", NOT_REPORTED_REPLACES, of="colleagues_finding", body=photo,
        format="multipart"),
]  # fmt: skip
