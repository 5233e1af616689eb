"""A plain forward model of one refrigerant-to-water exchanger: known truth in, what a technician reads out.

It exists to try the inference and to make invented records, so its modelling choices are its own: the
refrigerant's path is cut into slices, each with its own logarithmic temperature difference, local heat flux
and local water film.

How to use it::

    unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))
    scaled = with_fouling(unit, 1e-4)
    point = OperatingPoint("cooling", entering_water_k=303.15, water_flow_kg_per_s=0.55, heat_w=12_500.0)
    state = solve(scaled, point)                           # saturation, temperatures, power, pressure drop
    true = reading_of(state, unit="HP-1", taken_at=when)   # a ReadingSet without instrument errors

    instruments = instrument_table()                       # from diagnostics.engine.uncertainty
    errors = draw_repeating_errors(instruments, rng)       # once a gauge set, carried from visit to visit
    read = with_instrument_noise(true, instruments, rng, errors)

    case = draw_case(rng, instruments, mode="cooling", clean_visits=2)
    case.facts, case.history, case.reading                 # what the inference may see
    case.fouling_resistance_m2k_per_w                      # what it must find

Whole machines for invented records: `draw_unit`, `nominal_point` (the load follows entering water),
`facts_of` (the register's row), `printed_table` (the maker's operating table).
"""

from diagnostics.engine.forward.cases import Case, draw_case
from diagnostics.engine.forward.instruments import draw_repeating_errors, reading_of, with_instrument_noise
from diagnostics.engine.forward.solver import solve
from diagnostics.engine.forward.truth import (
    ExchangerTruth,
    ForwardState,
    NoOperatingPoint,
    OperatingPoint,
    UnitTruth,
    with_fouling,
)
from diagnostics.engine.forward.units import Nominal, draw_unit, facts_of, nominal_point, printed_table
from diagnostics.engine.forward.water_side import pressure_drop, water_film

__all__ = [
    "Case",
    "ExchangerTruth",
    "ForwardState",
    "NoOperatingPoint",
    "Nominal",
    "OperatingPoint",
    "UnitTruth",
    "draw_case",
    "draw_repeating_errors",
    "draw_unit",
    "facts_of",
    "nominal_point",
    "pressure_drop",
    "printed_table",
    "reading_of",
    "solve",
    "water_film",
    "with_fouling",
    "with_instrument_noise",
]
