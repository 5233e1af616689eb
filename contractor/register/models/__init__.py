"""Customers, sites, units, exchangers and what is known of them. SI in columns; the unit is in the name."""

from contractor.register.models.base import Retirable, known, positive, si, typed, word, words
from contractor.register.models.cleaners import FORMS, METAL_LISTS, RIG_PARTS, Cleaner, CleanerLot, Rig
from contractor.register.models.customers import (
    TREATMENTS,
    ClientAccess,
    ClientSite,
    Customer,
    Site,
    WaterTest,
)
from contractor.register.models.instruments import READINGS_BY_INSTRUMENT, GaugeSet, Instrument
from contractor.register.models.lists import NOT_FITTED
from contractor.register.models.tables import OperatingTable, OperatingTableRow
from contractor.register.models.units import (
    EXCHANGER_MODES,
    UNIT_KINDS,
    WETTED_PARTS,
    Exchanger,
    Unit,
    UnitEvent,
)
from diagnostics.engine.descaling.metals import METALS

__all__ = [
    "EXCHANGER_MODES",
    "FORMS",
    "METALS",
    "METAL_LISTS",
    "NOT_FITTED",
    "READINGS_BY_INSTRUMENT",
    "RIG_PARTS",
    "TREATMENTS",
    "UNIT_KINDS",
    "WETTED_PARTS",
    "Cleaner",
    "CleanerLot",
    "ClientAccess",
    "ClientSite",
    "Customer",
    "Exchanger",
    "GaugeSet",
    "Instrument",
    "OperatingTable",
    "OperatingTableRow",
    "Retirable",
    "Rig",
    "Site",
    "Unit",
    "UnitEvent",
    "WaterTest",
    "known",
    "positive",
    "si",
    "typed",
    "word",
    "words",
]
