"""The virtual unit: a whole machine that settles where its parts agree, healthy or with named faults."""

from diagnostics.engine.virtual_unit.faults import CAUSE_FIELDS, LEVELS, NO_FAULTS, Faults, faults_of
from diagnostics.engine.virtual_unit.rating import Design, design_from_facts, rated_unit
from diagnostics.engine.virtual_unit.solver import solve, solve_many
from diagnostics.engine.virtual_unit.unit import CHILLER, HEAT_PUMP, Conditions, State, VirtualUnit

__all__ = [
    "CAUSE_FIELDS",
    "CHILLER",
    "HEAT_PUMP",
    "LEVELS",
    "NO_FAULTS",
    "Conditions",
    "Design",
    "Faults",
    "State",
    "VirtualUnit",
    "design_from_facts",
    "faults_of",
    "rated_unit",
    "solve",
    "solve_many",
]
