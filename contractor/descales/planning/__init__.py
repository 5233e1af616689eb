"""From what the register knows and what was asked to a plan, or to what stands against one."""

from contractor.descales.planning.composing import Composed, compose
from contractor.descales.planning.facts import Asked, PlanFacts, facts_for
from contractor.descales.planning.refusing import Refusal, refusals

__all__ = ["Asked", "Composed", "PlanFacts", "Refusal", "compose", "facts_for", "refusals"]
