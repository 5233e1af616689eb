"""A misspelt filter must not silently return everything.

Unknown query parameters are refused with the known ones.
"""

from typing import Any

from rest_framework.request import Request

from contractor.http.problems import Problem


def known_parameters(view: Any) -> set[str]:
    known: set[str] = set()
    paginator = view.paginator
    for name in ("limit_param", "cursor_param"):
        if paginator is not None and hasattr(paginator, name):
            known.add(getattr(paginator, name))
    for backend in [backend() for backend in view.filter_backends]:
        if hasattr(backend, "get_filterset_class"):
            filters = backend.get_filterset_class(view, view.get_queryset())
            known |= set(filters.base_filters) if filters else set()
        if hasattr(backend, "ordering_param") and getattr(view, "ordering_fields", None):
            known.add(backend.ordering_param)
        if hasattr(backend, "search_param") and getattr(view, "search_fields", None):
            known.add(backend.search_param)
    return known | set(getattr(view, "more_parameters", ()))


def refuse_unknown_parameters(view: Any, request: Request) -> None:
    if not request.query_params:
        return
    known = known_parameters(view)
    unknown = sorted(set(request.query_params) - known)
    if unknown:
        words = f"expected some of: {', '.join(sorted(known))}" if known else "expected none"
        raise Problem(
            "unknown-parameter",
            f"Unknown query parameter {unknown[0]!r}; {words}.",
            errors=[{"parameter": name, "detail": words} for name in unknown],
            known=sorted(known),
        )
