"""Visits, readings and findings over the API."""

from rest_framework.routers import BaseRouter

from contractor.visits.api.findings import FindingViewSet
from contractor.visits.api.readings import ReadingViewSet
from contractor.visits.api.visits import VisitViewSet


def register(router: BaseRouter) -> None:
    router.register("visits", VisitViewSet, basename="visit")
    router.register("readings", ReadingViewSet, basename="reading")
    router.register("findings", FindingViewSet, basename="finding")
