"""Customers, sites, units, exchangers and what is known of them. SI in columns; the unit is in the name."""

from contractor.register.models.base import Retirable, known, positive, si, typed, word, words
from contractor.register.models.customers import ClientAccess, ClientSite, Customer, Site, WaterTest
from contractor.register.models.instruments import READINGS_BY_INSTRUMENT, GaugeSet, Instrument
from contractor.register.models.tables import OperatingTable, OperatingTableRow
from contractor.register.models.units import EXCHANGER_MODES, METALS, UNIT_KINDS, Exchanger, Unit, UnitEvent

__all__ = [
    "EXCHANGER_MODES",
    "METALS",
    "READINGS_BY_INSTRUMENT",
    "UNIT_KINDS",
    "ClientAccess",
    "ClientSite",
    "Customer",
    "Exchanger",
    "GaugeSet",
    "Instrument",
    "OperatingTable",
    "OperatingTableRow",
    "Retirable",
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
