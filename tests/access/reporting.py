from tests.access.rows import ANYONE_LISTS, OFFICE_CHANGES, SEEN, row

# a client sees a document once it is released
NOT_YET_RELEASED = "200 200 | 403 404 | 404 404 | 401"

ROWS = [
    row("GET", "documents/", ANYONE_LISTS),
    row("POST", "documents/", "202 202 | 202 400 | 403 403 | 401",
        body=lambda world: {"exchanger": str(world.exchanger.pk)}),
    row("GET", "documents/<uuid:pk>/", SEEN, of="document"),
    row("GET", "documents/<uuid:pk>/file/", SEEN, of="document"),
    row("POST", "documents/<uuid:pk>/release/", NOT_YET_RELEASED, of="prepared_document"),
    row("POST", "documents/<uuid:pk>/withdraw/", OFFICE_CHANGES, of="document",
        body=lambda world: {"because": "a wrong unit"}),
]  # fmt: skip
