"""Cleaners' sheets from a file into the register: through the services, so by the rules of form and API.

A cleaner is known by its name (capitals and spaces do not matter). A blank cell leaves what is known; a row
comes in whole or not at all. Files named in a row lie beside the file of sheets.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction

from contractor.http.problems import Problem
from contractor.register import papers, services, sheets
from contractor.register.importing.cleaner_columns import PAPER_FILES, SHEETS
from contractor.register.importing.reading import Fault, RegisterRow
from contractor.register.models import Cleaner


@dataclass
class SheetsReport:
    """Cleaners created, changed and left as they were, and what was wrong."""

    created: list[Cleaner] = field(default_factory=list)
    changed: list[Cleaner] = field(default_factory=list)
    unchanged: list[Cleaner] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def lacking(self) -> Iterable[tuple[Cleaner, list[str]]]:
        """What each sheet lacks before anybody may plan with it, and the papers asked for before acid."""
        for cleaner in (*self.created, *self.changed, *self.unchanged):
            lacks = [*sheets.missing_fields(cleaner), *sheets.missing_papers(cleaner)]
            if lacks:
                yield cleaner, [name.replace("_", " ") for name in lacks]


class BringingSheets:
    def __init__(self, file: str, keep_files: bool = True) -> None:
        self.file, self.keep_files = file, keep_files
        self.report = SheetsReport()
        self.lines: dict[str, int] = {}

    def bring_in(self, rows: Iterable[RegisterRow]) -> SheetsReport:
        for row in rows:
            self.report.faults += row.faults or self._bring_in_row(row)
        return self.report

    def _bring_in_row(self, row: RegisterRow) -> list[Fault]:
        given = dict(row.fields["cleaner"])
        name = " ".join(str(given.get("name", "")).split())
        if not name:
            return [Fault(self.file, row.line, "blank", "the cleaner's name", "cleaner", "")]
        if before := self.lines.get(name.casefold()):
            said = f"also in line {before}"
            return [Fault(self.file, row.line, said, "each cleaner in one row", "cleaner", name)]
        self.lines[name.casefold()] = row.line
        files = {paper: given.pop(column, "") for column, paper in PAPER_FILES.items()}
        try:
            with transaction.atomic():
                self._settle({**given, "name": name}, files)
        except Problem as problem:
            return self._faults_of(row, problem)
        return []

    def _settle(self, given: dict[str, Any], files: Mapping[str, str]) -> None:
        contents = {paper: self._read(paper, file) for paper, file in files.items() if file}
        there = Cleaner.objects.filter(name__iexact=given["name"]).first()
        if there is None:
            cleaner, before = services.add_cleaner(given), None
        else:
            services.rows.refuse_if_retired(there, "/name")
            before = there.version
            cleaner = services.change_cleaner(there, {k: v for k, v in given.items() if k != "name"})
        kept = [self._keep(cleaner, paper, content) for paper, content in contents.items()]
        if before is None:
            self.report.created.append(cleaner)
        else:
            moved = cleaner.version != before or any(kept)
            (self.report.changed if moved else self.report.unchanged).append(cleaner)

    def _read(self, paper: str, file: str) -> bytes:
        path = Path(self.file).parent / file
        try:
            content = path.read_bytes()
        except OSError as error:
            words = f"{error.strerror}; expected a file of this name beside the file of sheets"
            raise Problem("invalid", errors=[{"pointer": f"/{paper}_file", "detail": words}]) from error
        papers.checked(ContentFile(content), f"{paper}_file")
        return content

    def _keep(self, cleaner: Cleaner, paper: str, content: bytes) -> bool:
        """Keep the file unless the very same one is kept; a dry run only looks."""
        kept = getattr(cleaner, paper)
        if kept:
            with kept.open("rb") as file:
                if file.read() == content:
                    return False
        if self.keep_files:
            services.keep_paper(cleaner, paper, ContentFile(content))  # type: ignore[arg-type]
        return True

    def _faults_of(self, row: RegisterRow, problem: Problem) -> list[Fault]:
        found = []
        for error in problem.errors or [{"pointer": "", "detail": str(problem.detail)}]:
            column, cell = self._cell(row, str(error["pointer"]).lstrip("#/"))
            reason, _, expected = str(error["detail"]).rstrip(".").partition("; expected ")
            found.append(Fault(self.file, row.line, reason, expected or "what a sheet can say", column, cell))
        return found

    def _cell(self, row: RegisterRow, pointer: str) -> tuple[str, str]:
        """The column as the file writes it, and the cell."""
        name = pointer.removeprefix("as_typed/").partition("/")[0]
        for column in SHEETS.columns:
            target = column.quantity.column if column.quantity else column.field
            if name in (column.field, target):
                return row.cells.get(column.name, (column.name, ""))
        return row.cells.get("cleaner", ("cleaner", ""))
