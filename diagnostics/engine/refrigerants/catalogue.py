"""The refrigerants that the engine knows, with the model behind each and what is said about its safety.

Safety classes and nominal compositions are those of ASHRAE Standard 34, given here from memory. The stated
temperature allowance is how far published saturation tables stand from the model used here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from diagnostics.engine.errors import UnknownName


@dataclass(frozen=True, slots=True)
class RefrigerantFacts:
    """What is known of a refrigerant before any property is computed.

    `model` is a fluid of the property library; where it is empty the model is the mixture of
    `mass_composition` (component, share of the mass), whose critical temperature is recorded here because the
    library takes seconds to find it. `model_uncertainty_k` is the half-width, in kelvin, of the saturation
    temperature's model error.
    """

    name: str
    model: str
    blend: bool
    safety_class: str
    model_uncertainty_k: float
    uncertainty_source: str
    mass_composition: tuple[tuple[str, float], ...] = ()
    mixture_critical_k: float | None = None

    @property
    def toxicity_class(self) -> str:
        """A: lower toxicity; B: higher toxicity (ASHRAE 34)."""
        return self.safety_class[0]

    @property
    def flammability_class(self) -> str:
        """1: no flame propagation; 2L: mildly flammable (ASHRAE 34)."""
        return self.safety_class[1:]


_PURE = "reference equation of state; published tables agree within 0.05 K"
_MAKER = "maker's saturation bulletins and the pseudo-pure equation stand 0.2 K apart"
_R407C = "published tables stand 0.6 K (2 % of pressure) apart"
_UNCHECKED = "mixture model without an independent published table at hand: allowance, common practice"
_PREDICTED = "mixture by nominal composition with some estimated pair parameters: allowance, common practice"

_ROWS = (
    RefrigerantFacts("R410A", "R410A", True, "A1", 0.2, _MAKER),
    RefrigerantFacts("R22", "R22", False, "A1", 0.05, _PURE),
    RefrigerantFacts("R32", "R32", False, "A2L", 0.05, _PURE),
    RefrigerantFacts("R134a", "R134a", False, "A1", 0.05, _PURE),
    RefrigerantFacts("R407C", "R407C", True, "A1", 0.6, _R407C),
    RefrigerantFacts("R454B", "", True, "A2L", 0.3, _UNCHECKED, (("R32", 0.689), ("R1234yf", 0.311)), 351.43),
    RefrigerantFacts("R513A", "", True, "A1", 0.2, _UNCHECKED, (("R1234yf", 0.56), ("R134a", 0.44)), 368.56),
    RefrigerantFacts("R1234ze(E)", "R1234ze(E)", False, "A2L", 0.05, _PURE),
    RefrigerantFacts("R1233zd(E)", "R1233zd(E)", False, "A1", 0.05, _PURE),
    RefrigerantFacts("R123", "R123", False, "B1", 0.05, _PURE),
    RefrigerantFacts("R404A", "R404A", True, "A1", 0.3, _MAKER),
    RefrigerantFacts("R507A", "R507A", True, "A1", 0.2, _MAKER),
    RefrigerantFacts(
        "R448A",
        "",
        True,
        "A1",
        0.5,
        _PREDICTED,
        (("R32", 0.26), ("R125", 0.26), ("R1234yf", 0.20), ("R134a", 0.21), ("R1234ze(E)", 0.07)),
        355.94,
    ),
    RefrigerantFacts(
        "R449A",
        "",
        True,
        "A1",
        0.5,
        _PREDICTED,
        (("R32", 0.243), ("R125", 0.247), ("R1234yf", 0.253), ("R134a", 0.257)),
        355.63,
    ),
)

CATALOGUE: Mapping[str, RefrigerantFacts] = MappingProxyType({row.name: row for row in _ROWS})
REFRIGERANTS: tuple[str, ...] = tuple(CATALOGUE)


def _plain(name: str) -> str:
    return re.sub(r"[\s\-_()]", "", name).casefold()


_BY_PLAIN_NAME = {_plain(name): name for name in REFRIGERANTS}


def canonical_name(name: str) -> str:
    """Return the catalogue's spelling of a refrigerant's name, whatever its case, hyphens or spaces.

    Raises
    ------
    UnknownName
        Where no such refrigerant is in the catalogue; the message lists those that are.

    Examples
    --------
    >>> canonical_name("r-410a"), canonical_name("R1234ZE (E)")
    ('R410A', 'R1234ze(E)')
    """
    found = _BY_PLAIN_NAME.get(_plain(name)) if isinstance(name, str) else None
    if found is None:
        raise UnknownName("refrigerant", name, REFRIGERANTS)
    return found
