"""The virtual unit: a whole machine that settles where its parts agree, healthy or with named faults.

How to use it::

    unit = rated_unit(refrigerant="R410A", kind="coaxial", capacity_w=12e3)     # or
    rated_unit(exchanger_facts) conditions = Conditions("cooling", entering_water_k=303.15,
    flow_ratio=0.9) state = solve(unit, conditions, Faults(scale_m2k_per_w=2e-4))               # or
    faults_of("undercharged", "plain") states = solve_many(units, conditions, faults)
    # thousands, side by side true = readings(state, unit="HP-1", taken_at=when)
    # a ReadingSet without noise rows = operating_table(unit, "HP-1")
    # what its maker would print

A chiller (`machine="chiller"`) has two water exchangers: mode "cooling" reads its condenser, "heating"
its evaporator. A heat pump's one water exchanger condenses in cooling and evaporates in heating.
`State.converged` must be true before a state is used; `beyond` and `lockout` tell what would trip.
`drawing` draws whole machines, conditions and faults over the stated envelope.
"""

from diagnostics.engine.virtual_unit.design import Design, design_from_facts
from diagnostics.engine.virtual_unit.faults import CAUSE_FIELDS, LEVELS, NO_FAULTS, Faults, faults_of
from diagnostics.engine.virtual_unit.rating import rated_unit
from diagnostics.engine.virtual_unit.readings import readings, static_pressure_pa
from diagnostics.engine.virtual_unit.solver import solve, solve_many
from diagnostics.engine.virtual_unit.table import operating_table
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
    "operating_table",
    "rated_unit",
    "readings",
    "solve",
    "solve_many",
    "static_pressure_pa",
]
