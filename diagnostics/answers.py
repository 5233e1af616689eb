"""The engine's answer as a stored row, and a stored row as the engine's answer again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from diagnostics.batch.results import as_object
from diagnostics.engine import records


def columns_of(reading: records.ReadingSet, answer: records.Assessment) -> dict[str, Any]:
    """The columns of a row that keeps this answer: what is asked for by itself, and the whole."""
    result = {**as_object(0, reading, answer), "line": None}  # a row of the database has no line

    def part(name: str, end: str = "value") -> Any:
        interval = result[name]
        return interval[end] if isinstance(interval, dict) else None

    by_area = "fouling_resistance_m2k_per_w"
    return {
        "engine_version": answer.engine_version[:20],
        "inputs_digest": answer.inputs_digest,
        "verdict": answer.verdict,
        "probability_over_limit": answer.probability_over_limit,
        "excess_approach_k": part("excess_approach_k"),
        "cleanliness": part("cleanliness"),
        "fouling_m2k_per_w": part(by_area),
        "fouling_low_m2k_per_w": part(by_area, "low"),
        "fouling_high_m2k_per_w": part(by_area, "high"),
        "fouling_k_per_w": part("fouling_resistance_k_per_w"),
        "do_next": answer.do_next,
        "result": result,
    }


def answer_of(result: dict[str, object]) -> records.Assessment:
    """A stored result as the engine's record again."""
    promised = {name: result.get(name) for name in records.Assessment.__dataclass_fields__ if name != "more"}
    more = {name: value for name, value in result.items() if name not in promised}
    return records.Assessment(
        unit=str(promised["unit"]),
        taken_at=str(promised["taken_at"]),
        mode=str(promised["mode"]),
        line=_whole(promised["line"]),
        water_flow_kg_per_s=interval_of(promised["water_flow_kg_per_s"]),
        heat_w=interval_of(promised["heat_w"]),
        ua_w_per_k=interval_of(promised["ua_w_per_k"]),
        excess_approach_k=interval_of(promised["excess_approach_k"]),
        cleanliness=interval_of(promised["cleanliness"]),
        fouling_resistance_m2k_per_w=interval_of(promised["fouling_resistance_m2k_per_w"]),
        fouling_resistance_k_per_w=interval_of(promised["fouling_resistance_k_per_w"]),
        probability_over_limit=_number(promised["probability_over_limit"]),
        limit=_limit(promised["limit"]),
        verdict=str(promised["verdict"]),
        reference=tuple(
            records.ReferenceUsed(str(one["kind"]), _text(one.get("taken_at")))
            for one in _dicts(promised["reference"])
        ),
        decides_next=_text(promised["decides_next"]),
        do_next=str(promised["do_next"]),
        warnings=tuple(
            records.Warning(str(one["code"]), str(one["text"])) for one in _dicts(promised["warnings"])
        ),
        more=more,
        engine_version=str(promised["engine_version"] or ""),
        inputs_digest=str(promised["inputs_digest"] or ""),
    )


def interval_of(value: object) -> records.Interval | None:
    if not isinstance(value, dict):
        return None
    return records.Interval(float(value["value"]), float(value["low"]), float(value["high"]))


def _limit(value: object) -> records.Limit | None:
    if not isinstance(value, dict):
        return None
    return records.Limit(float(value["value"]), str(value["unit"]), str(value["source"]))


def _dicts(value: object) -> Iterable[dict[str, object]]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, Sequence) else []


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _whole(value: object) -> int | None:
    return value if isinstance(value, int) else None


def _text(value: object) -> str | None:
    return None if value is None else str(value)
