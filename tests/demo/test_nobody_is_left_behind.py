"""However the demo ends, its worker ends with it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings

from tests.demo import small
from tests.grown.programs import free_port


def of_worker(var: Path) -> list[int]:
    """Processes of the worker that works in this folder."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            words = (folder / "cmdline").read_bytes()
            place = f"WATERSIDE_VAR={var}".encode()
            if b"embedded_main" in words and place in (folder / "environ").read_bytes().split(b"\0"):
                found.append(int(folder.name))
        except OSError:
            continue
    return found


def wait_for(condition: object, within_s: float) -> bool:
    assert callable(condition)
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        if condition():
            return True
        time.sleep(0.1)
    return False


def heed_ctrl_c() -> None:
    """As in a terminal: a shell that started us in the background has it ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A folder in which one unit's scenario is loaded and worked through, and the scenario."""
    folder = tmp_path_factory.mktemp("demo")
    scenario = small.scenario_in(folder / "scenario", ("LFC-05",))
    done = small.demo(folder / "var", "--no-serve", "--scenario", str(scenario))
    assert done.returncode == 0, done.stderr
    return folder / "var", scenario


@pytest.fixture
def serving(loaded: tuple[Path, Path], tmp_path: Path) -> Iterator[tuple[subprocess.Popen[bytes], Path, int]]:
    (var, scenario), port = loaded, free_port()
    command = [sys.executable, "manage.py", "demo", "--port", str(port), "--scenario", str(scenario)]
    log = (tmp_path / "log").open("wb")
    process = subprocess.Popen(
        command,
        cwd=settings.BASE_DIR,
        env=small.environment(var),
        stdin=subprocess.DEVNULL,
        stdout=log,
        stderr=log,
        preexec_fn=heed_ctrl_c,
    )
    try:
        yield process, var, port
    finally:
        process.kill()
        process.wait(10)
        log.close()


def answers(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz/ready", timeout=2) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False


@pytest.mark.skipif(not Path("/proc/self/environ").exists(), reason="asks Linux about processes")
@pytest.mark.parametrize(
    "number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL], ids=["ctrl-c", "kill", "kill -9"]
)
def test_no_worker_outlives_the_demo(
    serving: tuple[subprocess.Popen[bytes], Path, int], number: signal.Signals
) -> None:
    process, var, port = serving
    assert wait_for(lambda: answers(port), 180), "it did not serve"
    assert of_worker(var), "while it serves, its worker works"
    os.kill(process.pid, number)
    assert wait_for(lambda: process.poll() is not None, 45)
    assert wait_for(lambda: not of_worker(var), 10), of_worker(var)


@pytest.mark.skipif(not Path("/proc/self/environ").exists(), reason="asks Linux about processes")
def test_it_serves_what_its_pages_are_made_of(serving: tuple[subprocess.Popen[bytes], Path, int]) -> None:
    process, _, port = serving
    assert wait_for(lambda: answers(port), 180), "the demo does not serve"
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=10) as page:
        style = re.search(r'href="(/static/[^"]+\.css)"', page.read().decode())
    assert style, "the page names no style sheet"
    for path, kind in ((style[1], "text/css"), ("/static/web/crew/crew.js", "text/javascript"),
                       ("/worker.js", "text/javascript")):  # fmt: skip
        with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=10) as file:
            assert file.status == 200 and file.headers.get_content_type() == kind
            assert len(file.read()) > 500
    process.send_signal(signal.SIGTERM)
    process.wait(60)


@pytest.mark.skipif(not Path("/proc/self/environ").exists(), reason="asks Linux about processes")
def test_a_worker_that_is_killed_while_serving_is_replaced(
    serving: tuple[subprocess.Popen[bytes], Path, int],
) -> None:
    process, var, port = serving
    assert wait_for(lambda: answers(port), 180), "the demo does not serve"
    first = set(of_worker(var))
    for pid in first:
        os.kill(pid, signal.SIGKILL)
    assert wait_for(lambda: set(of_worker(var)) - first, 60), "no other worker came"
    assert wait_for(lambda: answers(port), 180), "it no longer serves"
    process.send_signal(signal.SIGTERM)
    process.wait(60)
    assert wait_for(lambda: not of_worker(var), 20), f"left behind: {of_worker(var)}"
