"""What belongs to no room: the schema and the words of problems."""

from tests.access.rows import row

EVERYONE = "200 200 | 200 200 | 200 200 | 200"

ROWS = [
    row("GET", "schema/", EVERYONE),
    row("GET", "problems/", EVERYONE),
    row("GET", "problems/<slug:kind>/", EVERYONE, of="problem"),
]
