"""What machines of this kind usually show where a reading is missing, with honest widths (common
practice)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from diagnostics.engine.observation import Error
from diagnostics.engine.refrigerants import Refrigerant

ISENTROPIC_EFFICIENCY = 0.65
SHELL_LOSS = 0.05
USUAL_SUCTION_DEW_K = 279.0
USUAL_LIQUID_HEATING_K = 308.0
USUAL_CONDENSING_K = 314.0


@dataclass(frozen=True, slots=True)
class Habit:
    """A usual value [K], the standard uncertainty of this machine's own habit, and of a visit around it
    [K]."""

    value: float
    repeating: float
    random: float
    name: str


SUPERHEAT = Habit(7.0, 2.5, 2.0, "superheat")
SUBCOOLING = Habit(6.0, 2.5, 2.0, "subcooling")
DISCHARGE = Habit(0.0, 5.0, 3.0, "discharge")
LIQUID_IN_HEATING = Habit(0.0, 5.0, 3.0, "liquid_heating")
SATURATION_BY_POWER = Habit(0.0, 3.0, 3.5, "saturation_by_power")
"""Of a saturation told by heat over power: the compressor's efficiency repeats, the other side does not."""
SATURATION_BY_AMPS = Habit(0.0, 1.0, 4.0, "saturation_by_amps")
"""The same by amps against a clean visit's, which knows this compressor; volts and power factor may have
moved by a twentieth."""


def by_consumption(errors: Iterable[Error]) -> bool:
    """Whether a set's saturation was told by power or amps, no gauge being connected."""
    names = {SATURATION_BY_POWER.name, SATURATION_BY_AMPS.name}
    return any(one.key[0] == "habit" and one.key[1] in names for one in errors)


MAY_HAVE_MOVED_K = 4.5
"""Standard uncertainty of superheat and subcooling on a judged visit: charge or valve may have moved."""


def on_a_judged_visit(usual: Habit, seen: Iterable[float | None]) -> Habit:
    """The habit as the clean visits, or such machines, show it, with the width of what may have moved."""
    values = [value for value in seen if value is not None]
    if not values:
        return Habit(usual.value, usual.repeating, MAY_HAVE_MOVED_K, usual.name)
    return Habit(sum(values) / len(values), 0.8, MAY_HAVE_MOVED_K, f"{usual.name}_learned")


def discharge_guess_k(fluid: Refrigerant, head_pa: float, suction_dew_k: float, superheat_k: float) -> float:
    """Discharge temperature behind a compressor of usual efficiency.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    head_pa : float
        Discharge pressure. [Pa]
    suction_dew_k : float
        Dew temperature at suction. [K]
    superheat_k : float
        Suction superheat. [K]

    Returns
    -------
    float
        Discharge temperature. [K]

    References
    ----------
    Isentropic efficiency 0.65 and 5 % shell loss: common practice for scroll compressors.

    Examples
    --------
    >>> from diagnostics.engine.refrigerants import refrigerant
    >>> 340 < discharge_guess_k(refrigerant("R410A"), 2.4e6, 280.0, 7.0) < 360
    True
    """
    suction_pa = float(fluid.dew_pressure_pa(suction_dew_k))
    suction_k = suction_dew_k + max(superheat_k, 0.5)
    entropy = float(fluid.vapour_entropy_j_per_kg_k(suction_pa, suction_k))
    ideal_k = float(fluid.vapour_temperature_k_from_entropy(head_pa, entropy))
    before = float(fluid.vapour_enthalpy_j_per_kg(suction_pa, suction_k))
    ideal, warmer = (float(fluid.vapour_enthalpy_j_per_kg(head_pa, ideal_k + step)) for step in (0.0, 10.0))
    extra = (ideal - before) * ((1 - SHELL_LOSS) / ISENTROPIC_EFFICIENCY - 1)
    return ideal_k + 10.0 * extra / (warmer - ideal)
