"""manage.py import_cleaners FILE.csv [--dry-run] [--by EMAIL]"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction

from contractor.register.importing.cleaner_columns import SHEETS
from contractor.register.importing.reading import NothingRun, read_file
from contractor.register.importing.sheets_in import BringingSheets, SheetsReport
from contractor.register.management.commands.import_register import office_person
from contractor.trail.actor import acting_as


class Command(BaseCommand):
    help = (
        "Bring in the sheets of a firm's own cleaners from one comma-separated file, one cleaner a row, with "
        "label and safety data sheet as files beside it. A sheet may forbid more than the table of metals "
        "and acids, never less. Running it again changes nothing that is there already. "
        "Exit status: 0 all rows good; 1 some bad, the others brought in; 2 nothing run."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE.csv")
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would happen, and change nothing"
        )
        parser.add_argument("--by", metavar="EMAIL", help="who answers for it in the trail")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            notes, rows = read_file(options["file"], SHEETS)
        except NothingRun as nothing:
            self.complain(*map(str, nothing.faults))
            sys.exit(2)
        self.complain(*notes)
        person, dry = office_person(options["by"]), options["dry_run"]
        by = person.email if person else "import_cleaners"
        with acting_as(person.pk if person else None, by), transaction.atomic():
            report = BringingSheets(options["file"], keep_files=not dry).bring_in(rows)
            transaction.set_rollback(dry)
        self.complain(*map(str, report.faults))
        self.tell(report, dry)
        if report.faults:
            sys.exit(1)

    def complain(self, *lines: str) -> None:
        for line in lines:
            self.stderr.write(line)

    def tell(self, report: SheetsReport, dry_run: bool) -> None:
        self.stdout.write("Nothing was changed; this is what would be:" if dry_run else "Brought in:")
        counts = (("created", report.created), ("changed", report.changed), ("unchanged", report.unchanged))
        self.stdout.write("  cleaners " + " ".join(f"{len(rows):>5} {what}" for what, rows in counts))
        for cleaner, lacks in report.lacking():
            self.stdout.write(f"  {cleaner} cannot be used yet; its sheet lacks: {', '.join(lacks)}")
        bad = len({fault.line for fault in report.faults})
        if bad:
            self.stdout.write(f"  {bad} {'row' if bad == 1 else 'rows'} not brought in, see above")
