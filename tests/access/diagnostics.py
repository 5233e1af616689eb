from tests.access.rows import ANYONE_LISTS, SEEN, row

ROWS = [
    row("GET", "assessments/", ANYONE_LISTS),
    row("POST", "assessments/", "202 202 | 202 400 | 403 403 | 401",
        body=lambda world: {"reading": str(world.reading.pk)}),
    row("POST", "assessments/reassess/", "202 202 | 202 400 | 403 403 | 401",
        body=lambda world: {"exchanger": str(world.exchanger.pk), "because": "a clean visit was added"}),
    row("GET", "assessments/<int:pk>/", SEEN, of="assessment"),
    row("GET", "readings/<uuid:pk>/assessment/", SEEN, of="reading"),
    row("GET", "exchangers/<uuid:pk>/detectability/", "200 200 | 200 404 | 403 404 | 401", of="exchanger"),
    row("GET", "rankings/", ANYONE_LISTS),
    row("POST", "rankings/", "202 202 | 202 400 | 403 403 | 401",
        body=lambda world: {"reading": str(world.reading.pk)}),
    row("GET", "rankings/<int:pk>/", SEEN, of="ranking"),
    row("GET", "readings/<uuid:pk>/ranking/", SEEN, of="reading"),
    row("GET", "surveys/", ANYONE_LISTS),
    row("POST", "surveys/", "202 202 | 202 400 | 403 403 | 401",
        body=lambda world: {"visit": str(world.visit.pk)}),
    row("GET", "surveys/<int:pk>/", "200 200 | 200 404 | 404 404 | 401", of="survey"),
]  # fmt: skip
