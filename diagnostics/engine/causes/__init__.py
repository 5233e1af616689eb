"""Cause before chemical: what is wrong, how sure, what to check next, and why not acid yet.

`rank(facts, reading, history)` gives a `Ranking`; `survey(units)` reads the short rows of a loop's units
together.
"""

from diagnostics.engine.causes.background import Background, Earlier
from diagnostics.engine.causes.deciding import Surface, decided, surface_of
from diagnostics.engine.causes.evidence import OUTCOMES, Findings
from diagnostics.engine.causes.loop import Survey, SurveyRow, sorted_out, survey
from diagnostics.engine.causes.names import CAUSES, CHECKS, REMEDIES
from diagnostics.engine.causes.ranking import Ranking, not_ranked, rank

__all__ = [
    "CAUSES",
    "CHECKS",
    "OUTCOMES",
    "REMEDIES",
    "Background",
    "Earlier",
    "Findings",
    "Ranking",
    "Surface",
    "Survey",
    "SurveyRow",
    "decided",
    "not_ranked",
    "rank",
    "sorted_out",
    "surface_of",
    "survey",
]
