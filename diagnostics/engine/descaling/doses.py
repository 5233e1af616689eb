"""Doses: acid that a deposit asks for, product by its label, batches, portions, strength by drops."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnostics.engine.descaling.acids import acid_per_deposit
from diagnostics.engine.errors import within
from diagnostics.engine.records import Interval


@dataclass(frozen=True, slots=True)
class Batches:
    """What a deposit takes: pure acid [kg] in all and in one batch, and whole batches from low to high."""

    acid_kg: Interval
    acid_in_a_batch_kg: float
    likely: int
    fewest: int
    most: int


def acid_demand_kg(
    deposit_kg: float, acid_name: str, utilisation: float, mineral_name: str = "calcium_carbonate"
) -> float:
    """Return the pure acid that a deposit takes when only a share of each batch is of use.

    Parameters
    ----------
    deposit_kg : float
        Deposit [kg], 0 or above.
    acid_name : str
        One of `acids.ACIDS`.
    utilisation : float
        Share of the acid that is used before the bath is renewed [-], above 0 to 1.
    mineral_name : str
        One of `acids.MINERALS`.

    Returns
    -------
    float
        Pure acid [kg].

    References
    ----------
    Stoichiometry; utilisation as in `acids.utilisation` and `acids.used_of_strong`.

    Examples
    --------
    >>> round(acid_demand_kg(1.0, "hydrochloric", 0.7), 3)
    1.041
    """
    mass = float(within("deposit", "kg", deposit_kg, 0.0, 1e5))
    share = float(within("utilisation", "-", utilisation, 0.02, 1.0))
    return mass * acid_per_deposit(acid_name, mineral_name) / share


def acid_in_solution_kg(volume_m3: float, strength: float, density_kg_per_m3: float = 1000.0) -> float:
    """Return the pure acid in a solution, volume times density times strength.

    Parameters
    ----------
    volume_m3 : float
        Volume of solution: exchanger, hoses and tank [m3].
    strength : float
        Acid by mass of solution [-], 0 to 0.5 (0.1 is 10 %).
    density_kg_per_m3 : float
        Density of the solution [kg/m3].

    Returns
    -------
    float
        Pure acid [kg].

    References
    ----------
    Definition of mass fraction (IUPAC Gold Book).

    Examples
    --------
    >>> round(acid_in_solution_kg(0.001, 0.10, 1048.0), 4)
    0.1048
    """
    volume = float(within("solution volume", "m3", volume_m3, 0.0, 100.0))
    return volume * density_kg_per_m3 * float(within("strength", "-", strength, 0.0, 0.5))


def batches(demand_kg: Interval, acid_in_a_batch_kg: float) -> Batches:
    """Return how many batches a demand takes, at its median and at the ends of its interval.

    Parameters
    ----------
    demand_kg : Interval
        Pure acid that the deposit takes, utilisation included [kg].
    acid_in_a_batch_kg : float
        Pure acid in one fresh batch [kg], above 0.

    Returns
    -------
    Batches
        Whole batches [-].

    References
    ----------
    UFC 3-240-13FN (2005), 9-2.5 and 9-2.6: a spent solution is discarded and a fresh one made.

    Examples
    --------
    >>> found = batches(Interval(1.2, 0.5, 3.4), 1.0)
    >>> found.fewest, found.likely, found.most
    (1, 2, 4)
    """
    one = float(within("acid in a batch", "kg", acid_in_a_batch_kg, 1e-6, 1e5))

    def whole(mass: float) -> int:
        return max(1, math.ceil(mass / one - 1e-9))

    return Batches(demand_kg, one, whole(demand_kg.value), whole(demand_kg.low), whole(demand_kg.high))


def product_volume_m3(acid_kg: float, product_strength: float, product_density_kg_per_m3: float) -> float:
    """Return the volume of a liquid product that holds an amount of pure acid.

    Parameters
    ----------
    acid_kg : float
        Pure acid [kg].
    product_strength : float
        Acid by mass of product, from the sheet [-], above 0 to 1.
    product_density_kg_per_m3 : float
        Density of the product, from the sheet [kg/m3].

    Returns
    -------
    float
        Product [m3].

    References
    ----------
    Definition of mass fraction (IUPAC Gold Book).

    Examples
    --------
    >>> round(product_volume_m3(1.0, 0.3145, 1160.0) * 1000, 2)
    2.74
    """
    strength = float(within("product strength", "-", product_strength, 1e-4, 1.0))
    density = float(within("product density", "kg/m3", product_density_kg_per_m3, 500.0, 2500.0))
    return acid_kg / strength / density


def product_mass_kg(acid_kg: float, product_strength: float) -> float:
    """Return the mass of a product, powder or liquid, that holds an amount of pure acid.

    Parameters
    ----------
    acid_kg : float
        Pure acid [kg].
    product_strength : float
        Acid by mass of product, from the sheet [-], above 0 to 1.

    Returns
    -------
    float
        Product [kg].

    References
    ----------
    Definition of mass fraction (IUPAC Gold Book).

    Examples
    --------
    >>> product_mass_kg(0.95, 0.95)
    1.0
    """
    return acid_kg / float(within("product strength", "-", product_strength, 1e-4, 1.0))


def portions(product: float, largest_share: float = 0.25) -> tuple[float, ...]:
    """Return equal portions of a dose, each no more than a share of it: acid goes in by portions, into water.

    Parameters
    ----------
    product : float
        Whole dose, in any unit of amount [kg or m3].
    largest_share : float
        Largest share of a portion [-], 0.05 to 1; a quarter is common practice.

    Returns
    -------
    tuple of float
        The portions, in the dose's unit [kg or m3].

    References
    ----------
    Common practice: never at once, so that foam and heat can be watched.

    Examples
    --------
    >>> portions(2.0, 0.3)
    (0.5, 0.5, 0.5, 0.5)
    """
    share = float(within("largest share", "-", largest_share, 0.05, 1.0))
    count = math.ceil(1.0 / share - 1e-9)
    return (product / count,) * count


def strength_by_titration(drops: float, strength_per_drop: float) -> float:
    """Return the strength that a drop count tells.

    Parameters
    ----------
    drops : float
        Drops of titrant until the colour turns [-], 0 or above.
    strength_per_drop : float
        Factor from the test kit's or the cleaner's sheet: acid by mass of solution for each drop [-].

    Returns
    -------
    float
        Acid by mass of solution [-].

    References
    ----------
    UFC 3-240-13FN (2005), 9-2.6 (checking acid strength by titration with sodium hydroxide).

    Examples
    --------
    >>> round(strength_by_titration(13, 0.005), 3)
    0.065
    """
    factor = float(within("strength for each drop", "-", strength_per_drop, 1e-6, 0.2))
    return float(within("drops", "-", drops, 0.0, 1000.0)) * factor


def strength_from_alkali(
    titrant_l: float,
    titrant_mol_per_l: float,
    sample_kg: float,
    acid_molar_mass_kg_per_mol: float,
    protons: int,
) -> float:
    """Return the free acid that a burette of alkali tells, mol of alkali times M / n over the sample's mass.

    Parameters
    ----------
    titrant_l : float
        Alkali used [L].
    titrant_mol_per_l : float
        Its strength [mol/L].
    sample_kg : float
        Sample [kg].
    acid_molar_mass_kg_per_mol : float
        Molar mass of the acid [kg/mol].
    protons : int
        Protons that the indicator's turning point counts [-].

    Returns
    -------
    float
        Acid by mass of solution [-].

    References
    ----------
    UFC 3-240-13FN (2005), 9-2.6; definition of the equivalent.

    Examples
    --------
    >>> round(strength_from_alkali(0.02743, 1.0, 0.010, 36.461e-3, 1), 3)
    0.1
    """
    sample = float(within("sample", "kg", sample_kg, 1e-6, 10.0))
    return titrant_l * titrant_mol_per_l * acid_molar_mass_kg_per_mol / protons / sample
