"""What a reading told, in the words and units of who stands at the unit: for the phone's script."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404

from contractor.accounts.models import Person
from contractor.http.permissions import CREW
from contractor.visits.models import Reading
from contractor.web import quantities
from contractor.web.page import Page
from contractor.web.sentences import cause_name, reason_to, said_to, starting_large
from contractor.web.templatetags.waterside import headed
from diagnostics.engine import per_cent
from diagnostics.models import Assessment, Ranking

MOST_CAUSES = 4


class Told(Page):
    """`assessment` and `ranking`, each null until a worker has made it."""

    may = CREW

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        reading = get_object_or_404(Reading.objects.seen_by(self.person), pk=self.kwargs["pk"])
        assessment = Assessment.objects.seen_by(self.person).current().filter(reading=reading).first()
        ranking = Ranking.objects.seen_by(self.person).current().filter(reading=reading).first()
        return JsonResponse({
            "assessment": assessed(self.person, assessment) if assessment else None,
            "ranking": ranked(self.person, ranking) if ranking else None,
        })  # fmt: skip


def assessed(person: Person, row: Assessment) -> dict[str, Any]:
    share = row.probability_over_limit
    return {
        "do_next": headed(said_to(person, row.do_next)),
        "verdict": row.verdict,
        "likely": "" if share is None else f"{per_cent.chance(share)} likely beyond the limit",
        "excess": excess(person, row.result.get("excess_approach_k")),
        "warnings": [starting_large(said_to(person, each["text"])) for each in row.result["warnings"]],
    }


def excess(person: Person, told: dict[str, float] | None) -> str:
    """[K] as an interval of nineteen times in twenty; "" where nobody can tell."""
    if not told:
        return ""
    value, low, high = (
        quantities.in_words(
            told[name], "temperature_difference", person.units, mark=person.decimal_mark
        )
        for name in ("value", "low", "high")
    )  # fmt: skip
    return f"Approach above that of the clean unit: {value} (95 %: {low} to {high})"


def ranked(person: Person, row: Ranking) -> dict[str, Any]:
    return {
        "do_next": headed(said_to(person, row.do_next)),
        "why_not_chemical": headed(said_to(person, row.why_not_chemical)),
        "reopened": said_to(person, row.result.get("reopened")),
        "causes": [cause(person, each) for each in row.result["causes"][:MOST_CAUSES]],
        "cannot_tell_apart": [
            starting_large(said_to(person, each["words"])) for each in row.result["cannot_tell_apart"]
        ],
    }


def cause(person: Person, told: dict[str, Any]) -> str:
    why = f". {reason_to(person, told['reasons'][0])}" if told["reasons"] else ""
    return f"{cause_name(told['cause'])}: {per_cent.chance(told['probability'])}{why}"
