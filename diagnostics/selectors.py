"""From the register's and the visits' rows to the engine's records, each in a few queries."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from contractor.register.models import Exchanger, GaugeSet, OperatingTableRow, UnitEvent
from contractor.register.typed import barometric_at
from contractor.visits.models import Reading
from diagnostics.calibration import overdue_warnings
from diagnostics.engine import records
from diagnostics.engine.quantities import STANDARD_ATMOSPHERE_PA
from diagnostics.engine.uncertainty import READINGS_WITH_INSTRUMENTS

WITH_EXCHANGER = ("exchanger__unit__site", "exchanger__unit__operating_table", "gauge_set")
MEASURED = (
    "entering_water_k", "leaving_water_k", "water_flow_m3_per_s", "water_flow_kg_per_s",
    "water_pressure_drop_pa", "balancing_valve_pressure_drop_pa", "head_pressure_pa", "suction_pressure_pa",
    "liquid_line_k", "suction_line_k", "discharge_line_k", "compressor_power_w",
    "amps_a", "volts_v", "phases", "power_factor", "entering_air_k",
    "entering_air_wet_bulb_k", "leaving_air_k", "static_pressure_pa", "static_coldest_k", "minutes_running",
    "probe_moved", "power_includes_fan",
)  # fmt: skip
PRINTED = (
    "entering_water_k", "water_flow_m3_per_s", "superheat_low_k", "superheat_high_k", "subcooling_low_k",
    "subcooling_high_k", "water_temperature_change_low_k", "water_temperature_change_high_k",
    "water_pressure_drop_pa",
)  # fmt: skip
PRINTED_GAUGE = ("head_low_pa", "head_high_pa", "suction_low_pa", "suction_high_pa")


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything one assessment rests on."""

    facts: records.ExchangerFacts
    reading: records.ReadingSet
    history: records.History
    instruments: tuple[records.InstrumentAccuracy, ...]
    overdue: tuple[records.Warning, ...] = ()


def inputs_of(reading: Reading) -> Inputs:
    """What the engine needs to judge this reading."""
    exchanger = reading.exchanger
    return Inputs(
        facts=facts_of(exchanger),
        reading=reading_set(reading, exchanger.unit.tag),
        history=history_of(exchanger, reading.taken_at, besides=reading),
        instruments=instruments_of(reading.gauge_set, reading.taken_at),
        overdue=overdue_warnings(reading),
    )


@dataclass(frozen=True, slots=True)
class WholeHistory:
    """Everything recorded of one exchanger, read once, from which each of its readings is judged."""

    facts: records.ExchangerFacts
    readings: tuple[Reading, ...]
    sets: tuple[records.ReadingSet, ...]
    tables: tuple[records.TableRow, ...]
    events: tuple[records.UnitEvent, ...]

    def inputs(self) -> Iterator[tuple[Reading, Inputs]]:
        """Oldest first; the same as `inputs_of` each of them."""
        for place, reading in enumerate(self.readings):
            at = reading.taken_at
            besides = (one for other, one in enumerate(self.sets) if other != place and one.taken_at <= at)
            events = tuple(event for event in self.events if event.at <= at)
            earlier = (
                one for other, one in enumerate(self.readings) if other != place and one.taken_at <= at
            )
            gauges = gauges_of(earlier, reading.gauge_set_id)
            history = records.History(tuple(besides), self.tables, events, gauges)
            given = instruments_of(reading.gauge_set, at)
            yield reading, Inputs(self.facts, self.sets[place], history, given, overdue_warnings(reading))


def whole_history_of(exchanger_id: UUID) -> WholeHistory:
    exchanger = Exchanger.objects.select_related("unit__site", "unit__operating_table").get(pk=exchanger_id)
    standing = Reading.objects.standing().filter(exchanger=exchanger_id).order_by("taken_at", "pk")
    readings = tuple(standing.select_related("gauge_set").prefetch_related("gauge_set__instruments"))
    unit = exchanger.unit
    return WholeHistory(
        facts=facts_of(exchanger),
        readings=readings,
        sets=tuple(reading_set(reading, unit.tag) for reading in readings),
        tables=table_rows_of(exchanger),
        events=_events_of(UnitEvent.objects.filter(unit=unit), unit.tag),
    )


def facts_of(exchanger: Exchanger) -> records.ExchangerFacts:
    """Load the exchanger with its unit, site and operating table to save queries."""
    unit = exchanger.unit
    site, table = unit.site, unit.operating_table
    here_pa = barometric_at(site.elevation_m)
    rating = exchanger.rating_includes_fouling
    if rating is None and table is not None:
        rating = table.rating_includes_fouling
    return records.ExchangerFacts(
        unit=unit.tag,
        refrigerant=unit.refrigerant,
        exchanger=exchanger.kind,
        area_m2=exchanger.area_m2,
        bore_m=exchanger.bore_m,
        length_m=exchanger.length_m,
        count=exchanger.count,
        design_flow_m3_per_s=exchanger.design_flow_m3_per_s,
        design_pressure_drop_pa=exchanger.design_pressure_drop_pa,
        pressure_drop_exponent=exchanger.pressure_drop_exponent,
        antifreeze=site.antifreeze,
        antifreeze_fraction=site.antifreeze_fraction,
        fouling_limit_m2k_per_w=exchanger.fouling_limit_m2k_per_w,
        elevation_m=site.elevation_m,
        flow_in_heating=exchanger.flow_in_heating or None,
        expansion=unit.expansion or None,
        head_pressure_valve=unit.head_pressure_valve,
        capacity_w=unit.capacity_w,
        **_loop_of(exchanger),
        high_head_cutout_pa=_absolute(unit.high_head_cutout_pa_gauge, here_pa),
        low_suction_cutout_pa=_absolute(unit.low_suction_cutout_pa_gauge, here_pa),
        freeze_cutout_k=unit.freeze_cutout_k,
        rating_includes_fouling=rating,
        balancing_valve_kv_m3_per_h=exchanger.balancing_valve_kv_m3_per_h,
        hot_gas_reheat=unit.hot_gas_reheat,
        desuperheater_coil=unit.desuperheater_coil,
        vapour_injection=unit.vapour_injection,
        machine=unit.kind,
        between_ports=exchanger.between_ports or None,
        port_rise_m=exchanger.port_rise_m,
        fan_power_w=unit.fan_power_w,
    )


def stands_in_chilled_water(exchanger: Exchanger) -> bool:
    """A chiller's evaporator: of its water the site's loop tells nothing."""
    return exchanger.unit.kind == "water_cooled_chiller" and exchanger.modes == "heating"


def _loop_of(exchanger: Exchanger) -> dict[str, Any]:
    """What is known of the water that enters."""
    unit, site = exchanger.unit, exchanger.unit.site
    if stands_in_chilled_water(exchanger):
        return {}
    return {
        "loop": unit.loop or None,
        "water_source": site.water_source or None,
        "loop_low_k": site.loop_low_k,
        "loop_high_k": site.loop_high_k,
    }


def reading_set(reading: Reading, unit: str) -> records.ReadingSet:
    """Two readings share an instrument's repeating error where they share the gauge set."""
    return records.ReadingSet(
        unit=unit,
        taken_at=reading.taken_at,
        mode=reading.mode,
        purpose="clean_reference" if reading.stands_as_clean else reading.purpose,
        stage=reading.stage,
        gauge_set=str(reading.gauge_set_id) if reading.gauge_set_id else None,
        drop_read_by=reading.drop_read_by or None,
        strainer=reading.strainer or None,
        back_flush=reading.back_flush or None,
        fault_lockout=reading.fault_lockout or None,
        **{column: getattr(reading, column) for column in MEASURED},
    )


def history_of(exchanger: Exchanger, until: datetime, besides: Reading | None = None) -> records.History:
    """What was known then: readings that still count, the maker's table, what was done to the unit."""
    unit = exchanger.unit
    readings = Reading.objects.standing().filter(exchanger=exchanger).taken_until(until)
    if besides is not None:
        readings = readings.exclude(pk=besides.pk)
    rows = list(
        readings.order_by("taken_at", "pk")
        .select_related("gauge_set")
        .prefetch_related("gauge_set__instruments")
    )
    return records.History(
        readings=tuple(reading_set(reading, unit.tag) for reading in rows),
        tables=table_rows_of(exchanger),
        events=_events_of(UnitEvent.objects.filter(unit=unit, at__lte=until), unit.tag),
        instruments=gauges_of(rows, besides.gauge_set_id if besides is not None else None),
    )


def gauges_of(readings: Iterable[Reading], besides: UUID | None) -> records.Gauges:
    """Accuracies of the gauge sets that clean visits were read with, oldest first, but of today's own."""
    return {
        str(reading.gauge_set_id): instruments_of(reading.gauge_set, reading.taken_at)
        for reading in readings
        if reading.stands_as_clean and reading.gauge_set_id not in (None, besides)
    }


def _events_of(rows: QuerySet[UnitEvent], unit: str) -> tuple[records.UnitEvent, ...]:
    standing = rows.filter(taken_back_at__isnull=True).order_by("at", "pk")
    return tuple(records.UnitEvent(unit=unit, at=event.at, what=event.what) for event in standing)


def table_rows_of(exchanger: Exchanger) -> tuple[records.TableRow, ...]:
    """The maker's rows. Printed gauge pressures were taken at sea level, not at the site."""
    table = exchanger.unit.operating_table
    if table is None or table.is_retired:
        return ()
    rows = OperatingTableRow.objects.filter(table=table).in_use().order_by("mode", "stage", "pk")
    return tuple(_table_row(row, exchanger.unit.tag) for row in rows)


def _table_row(row: OperatingTableRow, unit: str) -> records.TableRow:
    pressures = {
        column: _absolute(getattr(row, f"{column}_gauge"), STANDARD_ATMOSPHERE_PA) for column in PRINTED_GAUGE
    }
    printed = {column: getattr(row, column) for column in PRINTED}
    return records.TableRow(unit=unit, mode=row.mode, stage=row.stage, **printed, **pressures)


def instruments_of(
    gauge_set: GaugeSet | None, at: datetime | None = None
) -> tuple[records.InstrumentAccuracy, ...]:
    """Stated accuracies of the gauge set as it was then; of two for one reading, the first retired since."""
    if gauge_set is None:
        return ()
    kept: dict[str, records.InstrumentAccuracy] = {}
    rows = sorted(
        gauge_set.instruments.all(),
        key=lambda row: (row.retired_at is None, row.retired_at or row.created_at, str(row.pk)),
    )
    for row in rows:
        if row.retired_at is not None and (at is None or row.retired_at <= at):
            continue
        if row.reading in READINGS_WITH_INSTRUMENTS and row.reading not in kept:
            kept[row.reading] = records.InstrumentAccuracy(
                reading=row.reading,
                repeating=row.repeating,
                random=row.random,
                relative=row.relative,
                source=f"as stated for {gauge_set.name}",
            )
    return tuple(kept[name] for name in sorted(kept))


def _absolute(gauge_pa: float | None, atmosphere_pa: float) -> float | None:
    return None if gauge_pa is None else gauge_pa + atmosphere_pa
