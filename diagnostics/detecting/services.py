"""Smallest fouling that would be called, mode by mode: of an exchanger on record, or of units in a file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from contractor.register.models import Exchanger, GaugeSet
from diagnostics import selectors
from diagnostics.batch.reading import read_inputs
from diagnostics.engine.detectability import Detectability, detectability
from diagnostics.engine.records import MODES, ExchangerFacts, History, reverses


def modes_of(facts: ExchangerFacts, history: History, mode: str | None) -> tuple[str, ...]:
    """The modes asked for: of a heat pump both, of an exchanger that never reverses those it was read
    in."""
    if mode is not None:
        return (mode,)
    if reverses(facts):
        return MODES
    read = {row.mode for row in history.readings} | {row.mode for row in history.tables}
    return tuple(one for one in MODES if one in read) or MODES


def of_exchanger(
    exchanger: Exchanger, now: datetime, gauge_set: GaugeSet | None = None, mode: str | None = None
) -> list[Detectability]:
    """What would be called on this exchanger with this gauge set, by what is known today."""
    facts, history = selectors.facts_of(exchanger), selectors.history_of(exchanger, now)
    instruments = selectors.instruments_of(gauge_set, now)
    name = None if gauge_set is None else str(gauge_set.pk)
    return [
        detectability(facts, history, one, instruments, gauge_set=name)
        for one in modes_of(facts, history, mode)
    ]


def of_files(
    units: str,
    unit: str | None = None,
    readings: str | None = None,
    tables: str | None = None,
    events: str | None = None,
    instruments: str | None = None,
    mode: str | None = None,
) -> Iterator[Detectability]:
    """The same of units in files, without a database. Raises NothingRun where a file will not do."""
    from diagnostics.batch.instruments import read_instruments

    inputs = read_inputs(units, readings, tables, events)
    stated = read_instruments(instruments)[0] if instruments is not None else []
    for tag, facts in inputs.facts.items():
        if unit is not None and tag != unit:
            continue
        history = History(
            tuple(row for row in inputs.readings if row.unit == tag),
            tuple(inputs.tables.get(tag, ())),
            tuple(inputs.events.get(tag, ())),
        )
        for one in modes_of(facts, history, mode):
            yield detectability(facts, history, one, stated)
