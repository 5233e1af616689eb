"""However the demo ends, its worker ends with it."""

from __future__ import annotations

import contextlib
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


def processes() -> dict[int, tuple[int, str]]:
    """Of every process its parent and its words: as Linux has them, elsewhere as ps says."""
    if not Path("/proc/self/stat").exists():
        said = subprocess.run(
            ["ps", "-A", "-o", "pid=,ppid=,args="], capture_output=True, text=True, check=True
        )
        rows = [line.split(None, 2) for line in said.stdout.splitlines()]
        return {int(row[0]): (int(row[1]), row[-1]) for row in rows}
    found = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            words = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
            parent = (folder / "stat").read_text().rpartition(")")[2].split()[1]
            found[int(folder.name)] = (int(parent), words)
        except OSError:
            continue
    return found


def workers_under(demo: int) -> set[int]:
    """Processes of the worker that this demo started."""
    every = processes()
    under, more = {demo}, {demo}
    while more:
        more = {pid for pid, (parent, _) in every.items() if parent in more}
        under |= more
    return {pid for pid in under if "embedded_main" in every.get(pid, (0, ""))[1]}


def still_there(pids: set[int]) -> set[int]:
    every = processes()
    return {pid for pid in pids if "embedded_main" in every.get(pid, (0, ""))[1]}


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
def serving(loaded: tuple[Path, Path], tmp_path: Path) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
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
        yield process, port
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


@pytest.mark.parametrize(
    "number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL], ids=["ctrl-c", "kill", "kill -9"]
)
def test_no_worker_outlives_the_demo(
    serving: tuple[subprocess.Popen[bytes], int], number: signal.Signals
) -> None:
    process, port = serving
    assert wait_for(lambda: answers(port), 180), "it did not serve"
    workers = workers_under(process.pid)
    assert workers, "while it serves, its worker works"
    os.kill(process.pid, number)
    assert wait_for(lambda: process.poll() is not None, 45)
    assert wait_for(lambda: not still_there(workers), 10), still_there(workers)


def test_it_serves_what_its_pages_are_made_of(serving: tuple[subprocess.Popen[bytes], int]) -> None:
    process, port = serving
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


def test_a_worker_that_is_killed_while_serving_is_replaced(
    serving: tuple[subprocess.Popen[bytes], int],
) -> None:
    process, port = serving
    assert wait_for(lambda: answers(port), 180), "the demo does not serve"
    first = workers_under(process.pid)
    for pid in first:
        with contextlib.suppress(ProcessLookupError):  # it went with one killed before it
            os.kill(pid, signal.SIGKILL)
    assert wait_for(lambda: workers_under(process.pid) - first, 60), "no other worker came"
    assert wait_for(lambda: answers(port), 180), "it no longer serves"
    workers = workers_under(process.pid)
    process.send_signal(signal.SIGTERM)
    process.wait(60)
    assert wait_for(lambda: not still_there(workers), 20), f"left behind: {still_there(workers)}"
