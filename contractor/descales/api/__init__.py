"""Descales over the API."""

from rest_framework.routers import BaseRouter

from contractor.descales.api.descales import DescaleViewSet
from contractor.descales.api.lists import (
    BatchClockViewSet,
    DischargeViewSet,
    HeldWasteViewSet,
    NoticeViewSet,
    PlanViewSet,
    StrainerLookViewSet,
)


def register(router: BaseRouter) -> None:
    router.register("descales", DescaleViewSet, basename="descale")
    router.register("descale-plans", PlanViewSet, basename="descale-plan")
    router.register("descale-notices", NoticeViewSet, basename="descale-notice")
    router.register("descale-clocks", BatchClockViewSet, basename="descale-clock")
    router.register("descale-strainers", StrainerLookViewSet, basename="descale-strainer")
    router.register("discharges", DischargeViewSet, basename="discharge")
    router.register("held-waste", HeldWasteViewSet, basename="held-waste")
