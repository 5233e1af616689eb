"""Instruments whose calibration was overdue when they were read from: said with every answer they made."""

from __future__ import annotations

from datetime import date

from contractor.register.models import Instrument
from contractor.visits.models import Reading
from contractor.visits.quantities import BY_NAME
from diagnostics.engine import records


def overdue_warnings(reading: Reading) -> tuple[records.Warning, ...]:
    """One warning for each instrument of the gauge set that took part and was overdue on that day."""
    if reading.gauge_set is None:
        return ()
    day = reading.taken_at.date()
    overdue = [
        each
        for each in reading.gauge_set.instruments.all()
        if _took_part(each, reading) and _is_overdue(each, day)
    ]
    return tuple(_warning(each, day) for each in sorted(overdue, key=lambda each: each.reading))


def _took_part(instrument: Instrument, reading: Reading) -> bool:
    retired = instrument.retired_at is not None and instrument.retired_at <= reading.taken_at
    quantity = BY_NAME.get(instrument.reading)
    return (
        not retired
        and quantity is not None
        and any(getattr(reading, column) is not None for column in quantity.columns)
    )


def _is_overdue(instrument: Instrument, day: date) -> bool:
    """A calibration made since has a later due day, and takes the warning out of answers made after it."""
    return instrument.calibration_due_on is not None and instrument.calibration_due_on < day


def _warning(instrument: Instrument, day: date) -> records.Warning:
    due = instrument.calibration_due_on
    assert due is not None
    name = instrument.reading.replace("_", " ")
    return records.Warning(
        "calibration_overdue",
        f"The instrument for {name} of {instrument.gauge_set} was due for calibration on {due:%Y-%m-%d}, "
        f"{(day - due).days} days before it was read. Have it calibrated, and read again where the verdict "
        "hangs on it.",
    )
