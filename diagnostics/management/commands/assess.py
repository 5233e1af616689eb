"""`manage.py assess`: readings from spreadsheets, results as one JSON object a line; no database."""

from __future__ import annotations

import os
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from diagnostics.batch.run import DRAWS, NOTHING_RUN, Job, run


class Command(BaseCommand):
    help = (
        "Assess readings from comma-separated files. Exit codes: 0 all rows good, 1 some bad, 2 nothing run."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--units", metavar="UNITS.csv", help="the exchangers")
        parser.add_argument("--readings", metavar="READINGS.csv", help="the reading sets to assess")
        parser.add_argument("--tables", metavar="TABLES.csv", help="rows of makers' operating tables")
        parser.add_argument("--events", metavar="EVENTS.csv", help="what was done to the units")
        parser.add_argument("--instruments", metavar="FILE.csv", help="accuracies in place of the defaults")
        parser.add_argument("--print-instruments", action="store_true", help="print the defaults and end")
        parser.add_argument("--out", metavar="RESULTS.jsonl", help="results (default: standard output)")
        parser.add_argument("--draws", type=int, default=DRAWS, help="draws a row (default %(default)s)")
        parser.add_argument("--no-causes", action="store_true", help="leave the ranking of causes out")
        parser.add_argument("--processes", type=int, help="processes (default: 2 for large files, else 1)")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["print_instruments"]:
            from diagnostics.batch.instruments import print_instruments

            self.stdout.write(print_instruments(), ending="")
            return
        missing = [f"--{name}" for name in ("units", "readings") if options[name] is None]
        if missing:
            raise CommandError(f"{' and '.join(missing)} must be given", returncode=NOTHING_RUN)
        names = ("units", "readings", "tables", "events", "instruments", "out", "draws", "processes")
        given = {name: options[name] for name in names}
        kept = str(settings.SIGNATURES_DIR)
        code = self._run(Job(**given, signatures=kept, causes=not options["no_causes"]))
        if code:
            sys.exit(code)

    def _run(self, job: Job) -> int:
        try:
            code = run(job, self.stdout, self.stderr)
            self.stdout.flush()
            return code
        except BrokenPipeError:
            # Whoever read the results has gone; say nothing more to a pipe that is shut.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return NOTHING_RUN
