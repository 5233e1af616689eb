"""Neutralising: what the spent bath asks in its tank, and what the wetted surface asks through the coil."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.optimize import brentq

from diagnostics.engine.descaling.acids import acid
from diagnostics.engine.descaling.gas import CARBON_DIOXIDE_KG_PER_MOL
from diagnostics.engine.errors import UnknownName, within
from diagnostics.engine.speciation import (
    ATMOSPHERE_PA,
    bicarbonate_charge_mol_per_l,
    pk_water,
    protons_given_up,
)

ABOVE_THE_LOWER_LIMIT = 0.5
"""How far above a site's lower pH limit a bath is brought [-]."""
_BINDS_FROM_PH = 5.0


@dataclass(frozen=True, slots=True)
class Agent:
    """A neutraliser: molar mass [kg/mol], sodium and carbon dioxide for each formula unit [mol/mol]."""

    name: str
    formula: str
    molar_mass_kg_per_mol: float
    sodium: int
    carbon_dioxide: int


AGENTS: dict[str, Agent] = {
    one.name: one
    for one in (
        Agent("sodium_bicarbonate", "NaHCO3", 84.007e-3, 1, 1),
        Agent("sodium_carbonate", "Na2CO3", 105.988e-3, 2, 1),
        Agent("sodium_hydroxide", "NaOH", 39.997e-3, 1, 0),
    )
}

_BOUND_CHARGE: dict[str, int] = {"phosphoric": 2, "citric": 3, "citric_monohydrate": 3}
"""Charge of the anion that calcium holds: dicalcium phosphate and calcium citrate come down or bind."""


@dataclass(frozen=True, slots=True)
class Bath:
    """A bath: acid put in [mol/L] in all, and what it has dissolved as calcium (and magnesium) [mol/L]."""

    acid_name: str
    acid_mol_per_l: float
    calcium_mol_per_l: float = 0.0


def agent(name: str) -> Agent:
    """Return the neutraliser of this name.

    Parameters
    ----------
    name : str
        One of `AGENTS`.

    Returns
    -------
    Agent
        The neutraliser.

    Raises
    ------
    UnknownName
        Where no such neutraliser is known; lists those that are.

    References
    ----------
    IUPAC standard atomic weights (2021).

    Examples
    --------
    >>> agent("sodium_carbonate").sodium
    2
    """
    if name not in AGENTS:
        raise UnknownName("neutraliser", name, AGENTS)
    return AGENTS[name]


def agent_per_acid(acid_name: str, agent_name: str, protons: int | None = None) -> float:
    """Return the neutraliser that a kilogram of fresh acid takes for a number of its protons.

    Parameters
    ----------
    acid_name : str
        One of `acids.ACIDS`.
    agent_name : str
        One of `AGENTS`.
    protons : int or None
        Protons neutralised [-]; those credited to the acid where None.

    Returns
    -------
    float
        Neutraliser by acid, both mass [kg/kg].

    References
    ----------
    Stoichiometry: one sodium for each proton.

    Examples
    --------
    >>> round(agent_per_acid("hydrochloric", "sodium_bicarbonate"), 4)
    2.304
    """
    one, chosen = acid(acid_name), agent(agent_name)
    count = one.protons if protons is None else protons
    return count * chosen.molar_mass_kg_per_mol / chosen.sodium / one.molar_mass_kg_per_mol


def sodium_to_reach(
    bath: Bath, ph: float, temperature_k: float = 298.15, carbon_dioxide_pa: float = ATMOSPHERE_PA
) -> float:
    """Return the sodium that brings a bath to a pH, by charge balance.

    [Na] = (C - s) n(pH) + [HCO3-] + 2 [CO3--] + [OH-] - [H+] - (2 [Ca] - s z). From pH 5 up calcium holds an
    amount s = min(2 [Ca]/z, C) of phosphoric or citric acid as HPO4-- or citrate, whatever its pK says, which
    asks for more; below, or for other acids, s is 0. Under a full atmosphere of carbon dioxide, as while it
    fizzes, it is the most that can be needed; an aired bath needs less.

    Parameters
    ----------
    bath : Bath
        The bath.
    ph : float
        pH to reach [-], 0 to 10.
    temperature_k : float
        Bath temperature [K].
    carbon_dioxide_pa : float
        Pressure of carbon dioxide over it [Pa].

    Returns
    -------
    float
        Sodium [mol/L]; negative where the bath stands above that pH already.

    References
    ----------
    Stumm & Morgan (1996), Aquatic Chemistry, chs. 3 and 4 (charge balance, open carbonate system).

    Examples
    --------
    >>> round(sodium_to_reach(Bath("hydrochloric", 1.0), 5.5, carbon_dioxide_pa=0.0), 3)
    1.0
    """
    one = acid(bath.acid_name)
    value = float(within("pH", "-", ph, 0.0, 10.0))
    given = 1.0 if one.strong else float(protons_given_up(value, one.pka))
    charge = _BOUND_CHARGE.get(bath.acid_name, 0)
    bound = 0.0
    if charge and value >= _BINDS_FROM_PH:
        bound = min(2.0 * bath.calcium_mol_per_l / charge, bath.acid_mol_per_l)
    bicarbonate = float(bicarbonate_charge_mol_per_l(value, carbon_dioxide_pa, temperature_k))
    hydroxide = float(10.0 ** (value - float(pk_water(temperature_k))))
    anions = (bath.acid_mol_per_l - bound) * given + bicarbonate + hydroxide
    hydrogen = float(10.0**-value)
    return anions - hydrogen - (2.0 * bath.calcium_mol_per_l - bound * charge)


def agent_to_reach_kg(
    bath: Bath,
    volume_m3: float,
    ph: float,
    agent_name: str,
    temperature_k: float = 298.15,
    carbon_dioxide_pa: float = ATMOSPHERE_PA,
) -> float:
    """Return the neutraliser that brings a spent bath to a pH in its tank; goes in by portions, pH read
    between.

    Parameters
    ----------
    bath : Bath
        The bath.
    volume_m3 : float
        Its volume [m3].
    ph : float
        pH to reach [-]: the site's lower limit and half a unit (`target_ph`).
    agent_name : str
        One of `AGENTS`.
    temperature_k : float
        Bath temperature [K].
    carbon_dioxide_pa : float
        Pressure of carbon dioxide over it [Pa].

    Returns
    -------
    float
        Neutraliser [kg], 0 where none is needed.

    References
    ----------
    As `sodium_to_reach`.

    Examples
    --------
    >>> round(agent_to_reach_kg(Bath("hydrochloric", 1.0), 0.001, 5.5, "sodium_bicarbonate") * 1000, 1)
    84.4
    """
    chosen = agent(agent_name)
    volume = float(within("bath volume", "m3", volume_m3, 0.0, 100.0))
    sodium = max(sodium_to_reach(bath, ph, temperature_k, carbon_dioxide_pa), 0.0) * volume * 1000.0
    return sodium / chosen.sodium * chosen.molar_mass_kg_per_mol


def bath_ph(
    bath: Bath,
    sodium_mol_per_l: float = 0.0,
    temperature_k: float = 298.15,
    carbon_dioxide_pa: float = ATMOSPHERE_PA,
) -> float:
    """Return the pH of a bath, spent or partly neutralised.

    Parameters
    ----------
    bath : Bath
        The bath.
    sodium_mol_per_l : float
        Sodium of the neutraliser put in [mol/L].
    temperature_k : float
        Bath temperature [K].
    carbon_dioxide_pa : float
        Pressure of carbon dioxide over it [Pa].

    Returns
    -------
    float
        pH [-]; 0 where it is lower than that.

    References
    ----------
    As `sodium_to_reach`, solved for the pH.

    Examples
    --------
    >>> round(bath_ph(Bath("acetic", 0.1)), 2)
    2.88
    """

    def lacking(ph: float) -> float:
        return sodium_to_reach(bath, ph, temperature_k, carbon_dioxide_pa) - sodium_mol_per_l

    if lacking(0.0) >= 0.0:
        return 0.0
    if lacking(10.0) <= 0.0:
        return 10.0
    return float(brentq(lacking, 0.0, 10.0, xtol=1e-6))


def target_ph(lower_limit: float, upper_limit: float) -> float:
    """Return the pH that a bath is brought to for a site: half a unit above its lower limit.

    Parameters
    ----------
    lower_limit : float
        Lowest pH that the site's authority lets through [-]; a sewer's is never below 5.
    upper_limit : float
        Highest [-].

    Returns
    -------
    float
        Target pH [-], in the middle where the limits are less than one unit apart.

    References
    ----------
    40 CFR 403.5(b)(2): below pH 5.0 is prohibited unless the works are designed for it.

    Examples
    --------
    >>> target_ph(6.0, 11.0)
    6.5
    """
    low = float(within("lower pH limit of a sewer", "-", lower_limit, 5.0, 10.0))
    high = float(within("upper pH limit", "-", upper_limit, low + 0.1, 12.5))
    return min(low + ABOVE_THE_LOWER_LIMIT, (low + high) / 2)


def surface_agent_kg(volume_m3: float, agent_name: str = "sodium_carbonate", strength: float = 0.01) -> float:
    """Return the neutraliser for the wetted surface: a 1 to 2 % solution circulated through the coil.

    Parameters
    ----------
    volume_m3 : float
        Solution: exchanger, hoses and a second, clean tank [m3].
    agent_name : str
        "sodium_carbonate" or "sodium_bicarbonate".
    strength : float
        Strength by mass [-], 0.005 to 0.02.

    Returns
    -------
    float
        Neutraliser [kg].

    References
    ----------
    UFC 3-240-13FN (2005), 9-2.5.2: 1 % soda ash, 8 lb in 100 US gallons, about 10 minutes (its metric figure,
    3.6 kg in 38 L, is ten times too much); brazed plate makers: 1 to 2 %.

    Examples
    --------
    >>> round(surface_agent_kg(0.03785), 2)
    0.38
    """
    if agent_name not in ("sodium_carbonate", "sodium_bicarbonate"):
        raise UnknownName("neutraliser for a surface", agent_name, ("sodium_carbonate", "sodium_bicarbonate"))
    volume = float(within("solution volume", "m3", volume_m3, 0.0, 100.0))
    return volume * 1000.0 * float(within("strength", "-", strength, 0.005, 0.02))


def carbon_dioxide_of_agent_kg(agent_kg: float, agent_name: str) -> float:
    """Return the carbon dioxide that a neutraliser sets free in an acid bath.

    Parameters
    ----------
    agent_kg : float
        Neutraliser [kg].
    agent_name : str
        One of `AGENTS`.

    Returns
    -------
    float
        Carbon dioxide [kg].

    References
    ----------
    Stoichiometry: HCO3- + H+ = CO2 + H2O.

    Examples
    --------
    >>> round(carbon_dioxide_of_agent_kg(2.304, "sodium_bicarbonate"), 3)
    1.207
    """
    chosen = agent(agent_name)
    return agent_kg / chosen.molar_mass_kg_per_mol * chosen.carbon_dioxide * CARBON_DIOXIDE_KG_PER_MOL
