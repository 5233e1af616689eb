from __future__ import annotations

from contractor.accounts.services import password_link_secret
from tests import make
from tests.access.rows import ANYONE_LISTS, row

EVERYONE = "200 200 | 200 200 | 200 200 | 200"
DONE_BY_EVERYONE = "204 204 | 204 204 | 204 204 | 204"
DONE_BY_THE_SIGNED_IN = "204 204 | 204 204 | 204 204 | 401"
NEW_PASSWORD = "another four plain words"
# a person is seen by the owner, by the office where they are of the crew, and by themselves
ASSIGNED_SEEN = "200 200 | 200 404 | 404 404 | 401"
OWNER_CHANGES = "200 403 | 403 404 | 404 404 | 401"
OWNER_ENDS = "204 403 | 403 404 | 404 404 | 401"

ROWS = [
    row("POST", "sign-in/", EVERYONE,
        body=lambda world: {"email": world.other.email, "password": make.PASSWORD, "device": "a phone"}),
    row("POST", "sign-out/", DONE_BY_THE_SIGNED_IN),
    row("GET", "me/", ANYONE_LISTS),
    row("PATCH", "me/", ANYONE_LISTS, body=lambda world: {"phone": "0100 000000"}),
    row("POST", "me/password/", DONE_BY_THE_SIGNED_IN,
        body=lambda world: {"current_password": make.PASSWORD, "new_password": NEW_PASSWORD}),
    row("POST", "set-password/", DONE_BY_EVERYONE,
        body=lambda world: {"secret": password_link_secret(world.other), "new_password": NEW_PASSWORD}),
    row("GET", "people/", "200 200 | 403 403 | 403 403 | 401"),
    row("POST", "people/", "201 403 | 403 403 | 403 403 | 401",
        body=lambda world: {"email": "new@example.org", "name": "New", "role": "technician"}),
    row("GET", "people/<uuid:pk>/", ASSIGNED_SEEN, of="assigned"),
    row("PATCH", "people/<uuid:pk>/", OWNER_CHANGES, of="assigned", body=lambda world: {"name": "Changed"}),
    row("POST", "people/<uuid:pk>/end-sign-ins/", OWNER_ENDS, of="assigned"),
    row("POST", "people/<uuid:pk>/password-link/", OWNER_CHANGES, of="assigned", trace=False,
        because="it makes a secret and writes nothing"),
    row("GET", "people-certificates/", "200 200 | 200 200 | 403 403 | 401"),
    row("POST", "people-certificates/", "201 201 | 403 403 | 403 403 | 401",
        body=lambda world: {"person": str(world.assigned.pk), "kind": "first_aid",
                            "expires_on": "2027-05-04"}),
    row("GET", "people-certificates/<uuid:pk>/", "200 200 | 200 404 | 404 404 | 401", of="certificate"),
    row("PATCH", "people-certificates/<uuid:pk>/", "200 200 | 403 404 | 404 404 | 401", of="certificate",
        body=lambda world: {"number": "B 7"}),
    row("GET", "tokens/", ANYONE_LISTS),
    row("GET", "tokens/<int:pk>/", "200 404 | 200 404 | 404 404 | 401", of="token"),
    row("POST", "tokens/<int:pk>/withdraw/", "204 404 | 204 404 | 404 404 | 401", of="token"),
]  # fmt: skip
