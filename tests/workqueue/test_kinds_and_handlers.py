"""Kinds of work are known by name; a kind that nobody handles stops the start."""

from __future__ import annotations

import pytest
from django.core.checks import run_checks

from contractor.workqueue import handlers, kinds


def test_every_kind_that_is_queued_has_a_handler() -> None:
    assert [m for m in run_checks() if m.id == "workqueue.E001"] == []
    assert set(kinds.DECLARED) <= set(handlers.HANDLERS)


def test_workqueue_e001_a_kind_without_a_handler(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(kinds.DECLARED, "orphan", "work that nobody does")
    [message] = [m for m in run_checks() if m.id == "workqueue.E001"]
    assert "orphan" in message.msg
    assert "handles('orphan')" in message.hint


def test_a_kind_has_one_handler() -> None:
    with pytest.raises(ValueError, match="noop"):
        handlers.handles("noop")(lambda item, progress: None)
    handlers.handles("noop")(handlers.HANDLERS["noop"])


@pytest.mark.parametrize("name", ["", "two words", "x" * 41, "7th"])
def test_a_kind_needs_a_plain_name(name: str) -> None:
    with pytest.raises(ValueError, match="name"):
        kinds.declare(name, "never")
