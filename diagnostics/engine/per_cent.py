"""Shares and probabilities in per cent, as every sentence of the engine writes them."""

from __future__ import annotations

SURE, HARDLY = 0.99, 0.01
"""Beyond these no reading tells a probability."""


def share(value: float, decimals: int = 0) -> str:
    """0.97 -> 97 %; of what is measured or known, so that it may be 0 or 100 %."""
    return f"{100 * value:.{decimals}f} %"


def change(value: float) -> str:
    """0.38 -> +38 %"""
    return f"{100 * value:+.0f} %"


def chance(probability: float) -> str:
    """0.97 -> 97 %; never rounded to certainty, which no reading gives."""
    if probability > SURE:
        return "over 99 %"
    if probability < HARDLY:
        return "below 1 %"
    return share(probability)
