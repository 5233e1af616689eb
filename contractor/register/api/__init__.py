"""The register over the API."""

from rest_framework.routers import BaseRouter

from contractor.register.api.changes import ChangeViewSet
from contractor.register.api.cleaners import CleanerLotViewSet, CleanerViewSet, RigViewSet
from contractor.register.api.customers import (
    ClientAccessViewSet,
    CustomerViewSet,
    SiteViewSet,
    WaterTestViewSet,
)
from contractor.register.api.instruments import GaugeSetViewSet, InstrumentViewSet
from contractor.register.api.tables import OperatingTableRowViewSet, OperatingTableViewSet
from contractor.register.api.tags import TagViewSet
from contractor.register.api.units import ExchangerViewSet, UnitEventViewSet, UnitViewSet


def register(router: BaseRouter) -> None:
    router.register("customers", CustomerViewSet, basename="customer")
    router.register("client-accesses", ClientAccessViewSet, basename="client-access")
    router.register("sites", SiteViewSet, basename="site")
    router.register("water-tests", WaterTestViewSet, basename="water-test")
    router.register("units", UnitViewSet, basename="unit")
    router.register("tags", TagViewSet, basename="tag")
    router.register("unit-events", UnitEventViewSet, basename="unit-event")
    router.register("exchangers", ExchangerViewSet, basename="exchanger")
    router.register("operating-tables", OperatingTableViewSet, basename="operating-table")
    router.register("operating-table-rows", OperatingTableRowViewSet, basename="operating-table-row")
    router.register("gauge-sets", GaugeSetViewSet, basename="gauge-set")
    router.register("instruments", InstrumentViewSet, basename="instrument")
    router.register("cleaners", CleanerViewSet, basename="cleaner")
    router.register("cleaner-lots", CleanerLotViewSet, basename="cleaner-lot")
    router.register("rigs", RigViewSet, basename="rig")
    router.register("changes", ChangeViewSet, basename="change")
