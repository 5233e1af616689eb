"""Refrigerants: saturation, enthalpies and superheated vapour from CoolProp, as fast smooth tables."""

from diagnostics.engine.refrigerants.catalogue import (
    CATALOGUE,
    REFRIGERANTS,
    RefrigerantFacts,
    canonical_name,
)
from diagnostics.engine.refrigerants.model import Refrigerant, refrigerant

__all__ = [
    "CATALOGUE",
    "REFRIGERANTS",
    "Refrigerant",
    "RefrigerantFacts",
    "canonical_name",
    "refrigerant",
]
