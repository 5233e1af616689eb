"""How warm the solution may get: the label's limit, and the refrigerant shut in behind the surface."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.refrigerants import refrigerant

SHARE_OF_RELIEF = 0.8


@dataclass(frozen=True, slots=True)
class TemperatureCap:
    """The highest solution temperature [K], and which of label, low-side rating or relief setting it is."""

    temperature_k: float
    because: str


def shut_in_pressure_pa(refrigerant_name: str, temperature_k: float) -> float:
    """Return the pressure of refrigerant shut in with liquid at a temperature: its bubble pressure.

    Parameters
    ----------
    refrigerant_name : str
        Any spelling of a catalogue name.
    temperature_k : float
        Temperature of the solution, and so of the refrigerant in time [K].

    Returns
    -------
    float
        Pressure [Pa], absolute.

    References
    ----------
    Saturation as in `refrigerants`; ASHRAE Standard 15 (pressure-limiting) for the concern.

    Examples
    --------
    >>> round(shut_in_pressure_pa("R410A", 333.15) / 1000)
    3843
    """
    return float(refrigerant(refrigerant_name).bubble_pressure_pa(temperature_k))


def temperature_cap(
    refrigerant_name: str,
    low_side_rating_gauge_pa: float | None,
    relief_setting_gauge_pa: float | None,
    label_limit_k: float,
    barometric_pa: float = 101_325.0,
) -> TemperatureCap:
    """Return the highest temperature of the solution.

    The shut-in refrigerant's saturation stays below the data plate's low-side pressure and 80 % of the relief
    or rupture-disc setting. Both are asked: without them there is no cap, and no heating. Its model's
    allowance is taken off.

    Parameters
    ----------
    refrigerant_name : str
        Any spelling of a catalogue name.
    low_side_rating_gauge_pa : float or None
        The data plate's low-side pressure, gauge [Pa].
    relief_setting_gauge_pa : float or None
        Relief valve or rupture-disc setting, gauge [Pa].
    label_limit_k : float
        Highest temperature that the cleaner's label allows [K].
    barometric_pa : float
        The site's barometric pressure [Pa].

    Returns
    -------
    TemperatureCap
        Temperature [K] and its reason.

    Raises
    ------
    OutOfRange
        Where either pressure is missing or not above zero.

    References
    ----------
    ASHRAE Standard 15 and the data plate; the 80 % is common practice.

    Examples
    --------
    >>> cap = temperature_cap("R123", 206843.0, 103421.0, 333.15)
    >>> round(cap.temperature_k - 273.15), cap.because
    (45, 'relief_setting')
    """
    of = refrigerant(refrigerant_name)
    caps = [TemperatureCap(label_limit_k, "label")]
    limits = (
        ("low_side_rating", low_side_rating_gauge_pa, 1.0),
        ("relief_setting", relief_setting_gauge_pa, SHARE_OF_RELIEF),
    )
    for because, gauge, share in limits:
        if gauge is None or not gauge > 0.0:
            raise OutOfRange(because.replace("_", " "), "Pa gauge", gauge or 0.0, 1e3, 1e8)
        pressure = share * gauge + barometric_pa
        within_tables = min(max(pressure, of.bubble.low_pa), of.bubble.high_pa)
        saturation = float(of.bubble_temperature_k(within_tables))
        caps.append(TemperatureCap(saturation - of.model_uncertainty_k, because))
    return min(caps, key=lambda cap: cap.temperature_k)
