"""Where results go: a file that appears whole or not at all, or a stream."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal, Protocol, TextIO

from diagnostics.batch.faults import Fault, NothingRun


class Writer(Protocol):
    """Whatever text can be written to."""

    def write(self, text: str, /) -> object: ...

    def isatty(self) -> bool: ...


@contextmanager
def results_file(name: str | None, stream: Writer, inputs: list[str]) -> Iterator[Writer]:
    """The stream to write results to. A named file is replaced only when all is written.

    Raises NothingRun where the file cannot be written, or is one of the inputs.
    """
    if name is None:
        yield stream
        return
    target = Path(os.path.realpath(name))
    if any(os.path.realpath(one) == str(target) for one in inputs):
        raise NothingRun(Fault(name, 0, "is one of the files to read", "another name for the results"))
    if target.exists() and not stat.S_ISREG(target.stat().st_mode) and not target.is_dir():
        with _opened(target, "w", name) as special:
            yield special
        return
    if target.is_dir():
        raise NothingRun(Fault(name, 0, "is a folder", "a file name"))
    draft = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with _opened(draft, "x", name) as file:
            yield file
        os.replace(draft, target)
    finally:
        draft.unlink(missing_ok=True)


def _opened(path: Path, how: Literal["w", "x"], name: str) -> TextIO:
    try:
        return open(path, how, encoding="utf-8", newline="\n")
    except OSError as error:
        reason = f"cannot be written: {error.strerror}"
        raise NothingRun(Fault(name, 0, reason, "a place where you may write")) from error
