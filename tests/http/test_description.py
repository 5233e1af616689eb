"""The API's description of itself (OpenAPI 3.1)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import yaml
from openapi_spec_validator import validate
from rest_framework.test import APIClient


@pytest.fixture(scope="module")
def description() -> dict[str, Any]:
    from drf_spectacular.generators import SchemaGenerator

    return SchemaGenerator().get_schema(request=None, public=True)


def operations(description: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, methods in description["paths"].items():
        for method, operation in methods.items():
            yield f"{method.upper()} {path}", operation


def test_it_is_valid_openapi_3_1(description: dict[str, Any]) -> None:
    assert description["openapi"].startswith("3.1")
    validate(description)


def test_it_is_served_to_everyone_as_what_it_names_is_not(db: None) -> None:
    answer = APIClient().get("/api/v1/schema/", HTTP_ACCEPT="application/vnd.oai.openapi+json")
    assert answer.status_code == 200
    assert answer.json()["openapi"].startswith("3.1")


def properties(schema: Any, at: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(schema, list):
        for place, inner in enumerate(schema):
            yield from properties(inner, f"{at}/{place}")
    if not isinstance(schema, dict):
        return
    for name, inner in schema.get("properties", {}).items():
        yield f"{at}.{name}", inner
    for name, inner in schema.items():
        if name != "description":
            yield from properties(inner, f"{at}/{name}")


def test_every_field_is_described(description: dict[str, Any]) -> None:
    missing = [
        at
        for at, field in properties(description, "")
        if not field.get("description") and "$ref" not in field
    ]
    assert missing == []


def test_every_parameter_is_described(description: dict[str, Any]) -> None:
    missing = [
        f"{name} {parameter['name']}"
        for name, operation in operations(description)
        for parameter in operation.get("parameters", [])
        if not parameter.get("description") and parameter["in"] != "path"
    ]
    assert missing == []


def test_every_operation_is_described_and_says_what_can_go_wrong(description: dict[str, Any]) -> None:
    for name, operation in operations(description):
        assert operation.get("description"), name
        problems = {code for code, answer in operation["responses"].items() if "application/problem+json" in
                    answer.get("content", {})}  # fmt: skip
        assert {"401", "404", "405", "406", "429", "503"} <= problems, name


def test_every_write_takes_an_idempotency_key(description: dict[str, Any]) -> None:
    for name, operation in operations(description):
        headers = {p["name"] for p in operation.get("parameters", []) if p["in"] == "header"}
        if name.split()[0] in ("POST", "PATCH") and "sign-in" not in name:
            assert "Idempotency-Key" in headers, name


def test_it_is_written_as_asked_for_and_alike_for_everyone(db: None) -> None:
    as_yaml, again = (APIClient().get("/api/v1/schema/") for _ in range(2))
    as_json = APIClient().get("/api/v1/schema/", HTTP_ACCEPT="application/vnd.oai.openapi+json")
    assert as_yaml.content == again.content
    assert as_yaml["Content-Type"].startswith("application/vnd.oai.openapi")
    assert set(yaml.safe_load(as_yaml.content)["paths"]) == set(as_json.json()["paths"])
