"""Many machines side by side: the same frozen records with arrays in place of floats, one entry a machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from typing import Any, TypeVar

import numpy as np

from diagnostics.engine.virtual_unit.faults import Faults
from diagnostics.engine.virtual_unit.loop_water import LoopWater, loop_water
from diagnostics.engine.virtual_unit.properties import PropertyTable, property_table
from diagnostics.engine.virtual_unit.unit import CHILLER, Conditions, VirtualUnit
from diagnostics.engine.virtual_unit.vapour import Array, Number

Record = TypeVar("Record")
REST_K = 298.15


@dataclass(frozen=True, slots=True)
class Batch:
    """Machines of one kind (and, heat pumps, one mode), stacked; what `solver` works on.

    `reads_condenser` is 1 where the exchanger read is the condenser. `fixed_superheat_k` and
    `fixed_subcooling_k` [K] replace valve and charge where they are not NaN.
    """

    chiller: bool
    cooling: bool
    unit: VirtualUnit
    conditions: Conditions
    faults: Faults
    table: PropertyTable
    water: LoopWater
    other_water: LoopWater | None
    reads_condenser: Array
    stage_share: Array
    rest_pressure_pa: Array
    fixed_superheat_k: Array
    fixed_subcooling_k: Array

    @property
    def size(self) -> int:
        """Number of machines."""
        return len(self.reads_condenser)


def batch_of(
    units: Sequence[VirtualUnit],
    conditions: Sequence[Conditions],
    faults: Sequence[Faults],
    fixed_superheat_k: float = np.nan,
    fixed_subcooling_k: float = np.nan,
) -> Batch:
    """Stack machines that are all of one kind and, for heat pumps, in one mode.

    Parameters
    ----------
    units, conditions, faults : sequence
        One of each a machine.
    fixed_superheat_k, fixed_subcooling_k : float
        Where given, hold superheat or subcooling there instead of solving valve or charge. [K]

    Returns
    -------
    Batch
        Arrays of one entry a machine.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    See `solver.solve_many`.
    """
    count = len(units)
    chiller = units[0].machine == CHILLER
    table = property_table(tuple(one.refrigerant for one in units))
    condenser = np.array([one.mode == "cooling" for one in conditions], dtype=float)
    stage = [
        one.compressor.low_stage if c.stage == "low" else 1.0
        for one, c in zip(units, conditions, strict=True)
    ]
    exchangers = tuple((one.exchanger.antifreeze, one.exchanger.antifreeze_fraction) for one in units)
    others = tuple(
        (one.evaporator.antifreeze, one.evaporator.antifreeze_fraction) for one in units if one.evaporator
    )
    return Batch(
        chiller=chiller,
        cooling=chiller or conditions[0].mode == "cooling",
        unit=stack(units),
        conditions=stack(conditions),
        faults=stack(faults),
        table=table,
        water=loop_water(exchangers),
        other_water=loop_water(others) if chiller else None,
        reads_condenser=condenser,
        stage_share=np.array(stage),
        rest_pressure_pa=table.bubble_pressure_pa(np.full(count, REST_K)),
        fixed_superheat_k=np.full(count, fixed_superheat_k),
        fixed_subcooling_k=np.full(count, fixed_subcooling_k),
    )


def take(batch: Batch, which: Any) -> Batch:
    """Some of the machines, possibly repeated.

    Parameters
    ----------
    batch : Batch
        The machines.
    which : array of int or bool
        Which of them. [-]

    Returns
    -------
    Batch
        A batch of those.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    See `solver`.
    """
    table = replace(
        batch.table,
        **{name: getattr(batch.table, name)[which] for name in ("offset", "low_k", "high_k", "index")},
    )
    rest = (
        "unit",
        "conditions",
        "faults",
        "water",
        "other_water",
        "reads_condenser",
        "stage_share",
        "rest_pressure_pa",
    )
    values = {
        name: _take(getattr(batch, name), which)
        for name in (*rest, "fixed_superheat_k", "fixed_subcooling_k")
    }
    return replace(batch, table=table, **values)


def between(start: Batch, end: Batch, share: Number) -> Batch:
    """Conditions and faults part of the way from one batch to another of the same machines.

    Parameters
    ----------
    start, end : Batch
        The same machines in two situations.
    share : float or array
        Share of the way, 0 to 1. [-]

    Returns
    -------
    Batch
        Every number interpolated linearly.

    References
    ----------
    Allgower & Georg (1990), Numerical Continuation Methods, ch. 2, for the use made of it.

    Examples
    --------
    See `solver`.
    """
    return replace(
        end,
        conditions=_mix(start.conditions, end.conditions, share),
        faults=_mix(start.faults, end.faults, share),
    )


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))


def stack(records: Sequence[Record]) -> Record:
    first = records[0]
    values: dict[str, Any] = {}
    for name in _names(type(first)):  # type: ignore[arg-type]
        column = [getattr(one, name) for one in records]
        sample = column[0]
        if sample is None or isinstance(sample, str):
            values[name] = None if sample is None else sample
        elif is_dataclass(sample):
            values[name] = stack(column)
        else:
            values[name] = np.array(column, dtype=float)
    return type(first)(**values)


def _take(value: Any, which: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value[which]
    if is_dataclass(value) and not isinstance(value, type):
        return type(value)(**{name: _take(getattr(value, name), which) for name in _names(type(value))})
    return value


def _mix(start: Any, end: Any, share: Number) -> Any:
    if isinstance(end, np.ndarray):
        return start + (end - start) * share
    if is_dataclass(end) and not isinstance(end, type):
        return type(end)(
            **{name: _mix(getattr(start, name), getattr(end, name), share) for name in _names(type(end))}
        )
    return end
