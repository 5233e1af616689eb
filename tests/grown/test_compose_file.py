"""What docker-compose.yml promises, read from the file itself."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import pytest
import yaml
from django.conf import settings

from contractor.workqueue.models import WorkItem
from tests.grown import compose
from tests.grown.programs import program

GIVEN = {name: f"/given/{name.lower()}" for name in compose.variables_asked_for()}
SERVICES = compose.read(GIVEN)
OURS = ("setup", "web", "worker-soon", "worker-bulk", "beat")


def queues_of(name: str) -> set[str]:
    command = SERVICES[name].command
    return set(command[command.index("--queues") + 1].split(","))


def test_nothing_secret_stands_in_the_file() -> None:
    text = compose.FILE.read_text()
    for word in ("PASSWORD", "SECRET_KEY"):
        values = re.findall(rf"^ +\w*{word}: (.*)$", text, re.MULTILINE)
        assert values and all(value.startswith('"${') and ":?" in value for value in values), word
    assert re.findall(r"://\w+:([^@]*)@", text) == ["${POSTGRES_PASSWORD:?a password of letters and digits}"]


@pytest.mark.parametrize("name", sorted(GIVEN))
def test_what_has_no_default_must_be_given(name: str) -> None:
    with pytest.raises(compose.NotGiven, match=name):
        compose.read({other: value for other, value in GIVEN.items() if other != name})


def test_every_lane_has_a_worker_and_every_worker_does_the_house_work() -> None:
    workers = [name for name in SERVICES if name.startswith("worker")]
    assert set().union(*(queues_of(name) for name in workers)) == {
        *WorkItem.Lane.values,
        settings.CELERY_TASK_DEFAULT_QUEUE,
    }
    assert queues_of("worker-soon") & queues_of("worker-bulk") == {settings.CELERY_TASK_DEFAULT_QUEUE}


def test_redis_keeps_what_it_was_told_and_evicts_nothing() -> None:
    command = " ".join(SERVICES["broker"].command)
    assert "--appendonly yes" in command and "--maxmemory-policy noeviction" in command


def test_what_must_be_kept_lies_on_volumes() -> None:
    volumes = yaml.safe_load(compose.FILE.read_text())["volumes"]
    used = {entry.split(":")[0] for service in SERVICES.values() for entry in service.volumes}
    assert set(volumes) == {"database", "broker", "files"} and set(volumes) <= used


def test_every_lasting_service_has_a_health_check_and_starts_again() -> None:
    for name, service in SERVICES.items():
        if name != "setup":
            assert service.healthcheck and service.restart == "unless-stopped", name


def test_ours_wait_for_the_tables_and_share_one_environment() -> None:
    environments = {json.dumps(SERVICES[name].environment, sort_keys=True) for name in OURS}
    assert len(environments) == 1
    assert all("setup" in SERVICES[name].depends_on for name in OURS if name != "setup")


def test_the_image_is_of_the_python_that_the_project_asks_for() -> None:
    dockerfile = (compose.ROOT / "contractor/config/Dockerfile").read_text()
    project = (compose.ROOT / "pyproject.toml").read_text()
    version = re.search(r'requires-python = ">=(\d+\.\d+),', project)
    assert version and f"FROM python:{version[1]}-slim" in dockerfile


def test_the_image_leaves_the_tests_tools_out() -> None:
    dockerfile = (compose.ROOT / "contractor/config/Dockerfile").read_text()
    divider = re.search(r"sed '/(.*?)/,\$d' requirements.lock", dockerfile)
    assert divider
    lines = (compose.ROOT / "requirements.lock").read_text().splitlines()
    [place] = [place for place, line in enumerate(lines) if re.match(divider[1], line)]
    kept, left_out = "\n".join(lines[:place]), "\n".join(lines[place:])
    assert "django==" in kept and "pytest==" not in kept and "pytest==" in left_out


def test_the_image_can_reach_all_that_it_copies_and_nothing_secret() -> None:
    dockerfile = (compose.ROOT / "contractor/config/Dockerfile").read_text()
    copied = {
        word
        for words in re.findall(r"^COPY (.*) \./\S*$", dockerfile, re.MULTILINE)
        for word in words.split()
    }
    let_in = set(re.findall(r"^!(.*)$", (compose.ROOT / ".dockerignore").read_text(), re.MULTILINE))
    assert copied == let_in and all((compose.ROOT / name).exists() for name in copied)


@pytest.mark.needs_services
def test_a_compose_implementation_reads_the_file_as_we_do(tmp_path: Path) -> None:
    given = tmp_path / "given"
    given.write_text("".join(f"{name}={value}\n" for name, value in GIVEN.items()))
    asked = subprocess.run(
        [program("docker-compose"), "--file", str(compose.FILE), "--env-file", str(given), "config"],
        capture_output=True, text=True, env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path)},
    )  # fmt: skip
    assert asked.returncode == 0, asked.stderr
    theirs = yaml.safe_load(asked.stdout)["services"]
    assert theirs.keys() == SERVICES.keys()
    for name, service in SERVICES.items():
        assert theirs[name]["command"] == service.command, name
        assert theirs[name].get("environment", {}) == service.environment, name
        assert [word.replace("$$", "$") for word in theirs[name].get("healthcheck", {}).get("test", [])] == (
            service.healthcheck
        ), name
