"""The disk is full: what was taken is kept, the rest is refused in words, and nothing is half-written."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from tests.demo.small import environment

pytestmark = pytest.mark.needs_services  # like those, it asks more of the machine than Python
SMALL_DISK = 'mount -t tmpfs -o size=24m tmpfs "$1" && shift && exec "$@"'
ALONE = ["unshare", "--mount"] if os.geteuid() == 0 else ["unshare", "--user", "--map-root-user", "--mount"]


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("small-disk")
    command = [sys.executable, "-m", "tests.faults.full_disk"]
    done = subprocess.run(
        [*ALONE, "sh", "-c", SMALL_DISK, "sh", str(folder), *command], cwd=settings.BASE_DIR,
        env=environment(Path(folder)), capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=400,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr[-6000:]
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


def test_what_does_not_fit_is_refused_in_words_that_help(seen: dict[str, Any]) -> None:
    assert seen["refused"] > 0, "the disk was not full"
    assert set(seen["while full"]) <= {201, 503}
    [words] = seen["words"]
    assert words.startswith("The disk of the service is full. Nothing was written.")
    assert seen["try again after"] == ["60"]


def test_what_was_taken_is_kept_and_the_rest_goes_in_once_when_there_is_room(seen: dict[str, Any]) -> None:
    assert seen["taken and kept"]
    assert seen["afterwards"] == [201]
    assert seen["each kept once"]
    assert seen["database"] == "ok"


def test_the_worker_outlives_it_and_no_half_file_is_left(seen: dict[str, Any]) -> None:
    assert seen["worker alive"]
    assert seen["waiting while full"] > 0, "it was done before the disk was full"
    assert {words.split()[1] for words in seen["work"]} == {"done"}, seen["work"]
    assert (seen["documents"], seen["sound"], seen["left over"]) == (1, 1, [])
