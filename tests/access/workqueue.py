from tests.access.rows import ANYONE_LISTS, row

ROWS = [
    row("GET", "work-items/", ANYONE_LISTS),
    row("GET", "work-items/<uuid:pk>/", "200 200 | 200 404 | 404 404 | 401", of="work_item"),
    row("GET", "work-items/summary/", "200 200 | 403 403 | 403 403 | 401"),
    row("POST", "work-items/<uuid:pk>/retry/", "202 202 | 403 404 | 404 404 | 401", of="work_item"),
]  # fmt: skip
