"""Acids and the deposits that they dissolve: protons, stoichiometry, and how much of a weak acid is of use.

Molar masses are IUPAC's standard atomic weights summed. pK values at 25 degC and no ionic strength are from
memory (CRC Handbook of Chemistry and Physics, dissociation constants of acids), as each row says.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from diagnostics.engine.errors import UnknownName, like, within
from diagnostics.engine.speciation import ATMOSPHERE_PA, bicarbonate_charge_mol_per_l, protons_given_up

Values = npt.ArrayLike

_CRC = "CRC Handbook, dissociation constants of acids (from memory)"
_STRONG = "strong: wholly dissociated (from memory)"


@dataclass(frozen=True, slots=True)
class Acid:
    """An acid: molar mass [kg/mol], protons credited to dissolving carbonate, pK of its protons [-].

    `protons` are those used while what forms stays dissolved: one of phosphoric's three, as the second would
    bring down dicalcium phosphate. A strong acid has no pK here.
    """

    name: str
    formula: str
    molar_mass_kg_per_mol: float
    protons: int
    pka: tuple[float, ...]
    source: str

    @property
    def strong(self) -> bool:
        """Whether it is dissociated at any strength met here."""
        return not self.pka


@dataclass(frozen=True, slots=True)
class Mineral:
    """A deposit: molar mass [kg/mol], protons that dissolve one unit, carbon dioxide set free [mol/mol]."""

    name: str
    formula: str
    molar_mass_kg_per_mol: float
    protons: int
    carbon_dioxide: int
    reaction: str


ACIDS: dict[str, Acid] = {
    acid.name: acid
    for acid in (
        Acid("hydrochloric", "HCl", 36.461e-3, 1, (), _STRONG),
        Acid("nitric", "HNO3", 63.012e-3, 1, (), _STRONG),
        Acid("sulfamic", "H2NSO3H", 97.094e-3, 1, (1.0,), _CRC),
        Acid("phosphoric", "H3PO4", 97.995e-3, 1, (2.148, 7.198, 12.32), _CRC),
        Acid("citric", "C6H8O7", 192.124e-3, 3, (3.13, 4.76, 6.40), _CRC),
        Acid("citric_monohydrate", "C6H8O7.H2O", 210.139e-3, 3, (3.13, 4.76, 6.40), _CRC),
        Acid("glycolic", "HOCH2COOH", 76.051e-3, 1, (3.83,), _CRC),
        Acid("formic", "HCOOH", 46.025e-3, 1, (3.75,), _CRC),
        Acid("acetic", "CH3COOH", 60.052e-3, 1, (4.756,), _CRC),
        Acid("lactic", "CH3CHOHCOOH", 90.078e-3, 1, (3.86,), _CRC),
    )
}

MINERALS: dict[str, Mineral] = {
    mineral.name: mineral
    for mineral in (
        Mineral("calcium_carbonate", "CaCO3", 100.087e-3, 2, 1, "CaCO3 + 2H+ = Ca++ + H2O + CO2"),
        Mineral("magnesium_carbonate", "MgCO3", 84.314e-3, 2, 1, "MgCO3 + 2H+ = Mg++ + H2O + CO2"),
        Mineral("magnesium_hydroxide", "Mg(OH)2", 58.319e-3, 2, 0, "Mg(OH)2 + 2H+ = Mg++ + 2H2O"),
        Mineral("haematite", "Fe2O3", 159.687e-3, 6, 0, "Fe2O3 + 6H+ = 2Fe+++ + 3H2O"),
        Mineral("magnetite", "Fe3O4", 231.531e-3, 8, 0, "Fe3O4 + 8H+ = Fe++ + 2Fe+++ + 4H2O"),
        Mineral("ferric_hydroxide", "Fe(OH)3", 106.866e-3, 3, 0, "Fe(OH)3 + 3H+ = Fe+++ + 3H2O"),
    )
}


def acid(name: str) -> Acid:
    """Return the acid of this name.

    Parameters
    ----------
    name : str
        One of `ACIDS`.

    Returns
    -------
    Acid
        The acid.

    Raises
    ------
    UnknownName
        Where no such acid is known; lists those that are.

    References
    ----------
    IUPAC standard atomic weights (2021); pK as each row's source.

    Examples
    --------
    >>> acid("formic").pka
    (3.75,)
    """
    if name not in ACIDS:
        raise UnknownName("acid", name, ACIDS)
    return ACIDS[name]


def mineral(name: str) -> Mineral:
    """Return the deposit of this name.

    Parameters
    ----------
    name : str
        One of `MINERALS`.

    Returns
    -------
    Mineral
        The deposit.

    Raises
    ------
    UnknownName
        Where no such deposit is known to dissolve in acid; lists those that are. Silica and calcium sulphate
        are not among them.

    References
    ----------
    IUPAC standard atomic weights (2021).

    Examples
    --------
    >>> mineral("magnetite").protons
    8
    """
    if name not in MINERALS:
        raise UnknownName("deposit that acid dissolves", name, MINERALS)
    return MINERALS[name]


def deposit_per_acid(acid_name: str, mineral_name: str = "calcium_carbonate") -> float:
    """Return how much deposit a kilogram of pure acid dissolves, if all of it were used.

    Parameters
    ----------
    acid_name : str
        One of `ACIDS`.
    mineral_name : str
        One of `MINERALS`.

    Returns
    -------
    float
        Deposit by acid, both mass [kg/kg].

    References
    ----------
    Stoichiometry: M_deposit n_acid / (n_deposit M_acid).

    Examples
    --------
    >>> round(deposit_per_acid("hydrochloric"), 4)
    1.3725
    """
    one, deposit = acid(acid_name), mineral(mineral_name)
    moles = one.protons / deposit.protons
    return moles * deposit.molar_mass_kg_per_mol / one.molar_mass_kg_per_mol


def acid_per_deposit(acid_name: str, mineral_name: str = "calcium_carbonate") -> float:
    """Return how much pure acid a kilogram of deposit takes, if all of the acid were used.

    Parameters
    ----------
    acid_name : str
        One of `ACIDS`.
    mineral_name : str
        One of `MINERALS`.

    Returns
    -------
    float
        Acid by deposit, both mass [kg/kg].

    References
    ----------
    Stoichiometry, as `deposit_per_acid`.

    Examples
    --------
    >>> round(acid_per_deposit("citric"), 4)
    1.2797
    """
    return 1.0 / deposit_per_acid(acid_name, mineral_name)


def utilisation(
    acid_name: str,
    renewal_ph: Values,
    acid_mol_per_l: Values,
    temperature_k: Values = 298.15,
    carbon_dioxide_pa: Values = ATMOSPHERE_PA,
) -> Any:
    """Return what share of an acid's credited protons has dissolved carbonate when the bath reaches a pH.

    u = min[n(pH)/n_credited, 1] + ([HCO3-] + 2 [CO3--] - [H+]) / (n_credited C): charge balance of a bath
    that fizzes under an atmosphere of carbon dioxide, which keeps a little carbonate as bicarbonate. For a
    weak acid the first term rules; a strong one is renewed by its strength and not by pH (`used_of_strong`).

    Parameters
    ----------
    acid_name : str
        One of `ACIDS`.
    renewal_ph : float or array
        pH at which the bath is renewed [-], 1 to 7.
    acid_mol_per_l : float or array
        Acid in the fresh bath [mol/L], above 0.01.
    temperature_k : float or array
        Bath temperature [K], 273.15 to 363.15.
    carbon_dioxide_pa : float or array
        Pressure of carbon dioxide over the bath [Pa].

    Returns
    -------
    float or array
        Share used [-], 0 where the bath is still more acid than the acid alone would be; above 1 means that
        the last of it left as bicarbonate.

    References
    ----------
    Stumm & Morgan (1996), Aquatic Chemistry, chs. 3 and 4 (charge balance); pK as in `ACIDS`.

    Examples
    --------
    >>> round(utilisation("citric", 4.0, 0.26), 2), round(utilisation("citric", 5.0, 0.26), 2)
    (0.34, 0.56)
    """
    one = acid(acid_name)
    ph = within("renewal pH", "-", renewal_ph, 1.0, 7.0)
    strength = within("acid in the bath", "mol/L", acid_mol_per_l, 0.01, 10.0)
    given = np.ones_like(ph) if one.strong else protons_given_up(ph, one.pka) / one.protons
    left_as_gas = bicarbonate_charge_mol_per_l(ph, carbon_dioxide_pa, temperature_k) - 10.0 ** (-ph)
    used = np.minimum(given, 1.0) + left_as_gas / (one.protons * strength)
    return like(np.maximum(used, 0.0), renewal_ph, acid_mol_per_l, temperature_k, carbon_dioxide_pa)


def used_of_strong(strength_at_renewal_share: Values) -> Any:
    """Return what share of a strong acid is used when its strength is down to a share of the start.

    Parameters
    ----------
    strength_at_renewal_share : float or array
        Strength by titration at which the bath is renewed, over the starting strength [-], 0 to 1; a third
        unless the label says otherwise.

    Returns
    -------
    float or array
        Share used [-].

    References
    ----------
    UFC 3-240-13FN (2005), 9-2.6: hydrochloric from 10 % is discarded below 3 %, so 0.7 of it is used.

    Examples
    --------
    >>> round(used_of_strong(0.3), 2)
    0.7
    """
    left = within("strength at renewal over strength at start", "-", strength_at_renewal_share, 0.0, 1.0)
    return like(1.0 - left, strength_at_renewal_share)
