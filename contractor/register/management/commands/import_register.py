"""manage.py import_register FILE.csv [--dry-run] [--by EMAIL]"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from contractor.accounts.models import Person
from contractor.register.importing.bringing import Bringing, Report
from contractor.register.importing.columns import RECORDS
from contractor.register.importing.reading import NothingRun, read_file
from contractor.trail.actor import acting_as


def office_person(email: str | None) -> Person | None:
    """Who answers for a command's writes; None where nobody is named."""
    if email is None:
        return None
    person: Person | None = Person.objects.filter(email=email.strip().lower(), is_active=True).first()
    if person is None or not person.is_office:
        raise CommandError(
            f"--by {email}: expected the e-mail address of someone of the office", returncode=2
        )
    return person


class Command(BaseCommand):
    help = (
        "Bring in customers, sites, units and exchangers from one comma-separated file, one exchanger a row. "
        "Running it again changes nothing that is there already. "
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
            notes, rows = read_file(options["file"])
        except NothingRun as nothing:
            self.complain(*map(str, nothing.faults))
            sys.exit(2)
        self.complain(*notes)
        person = office_person(options["by"])
        bringing = Bringing(options["file"])
        by = person.email if person else "import_register"
        with acting_as(person.pk if person else None, by), transaction.atomic():
            report = bringing.bring_in(rows)
            transaction.set_rollback(options["dry_run"])
        self.complain(*map(str, report.faults))
        self.tell(report, options["dry_run"])
        if report.faults:
            sys.exit(1)

    def complain(self, *lines: str) -> None:
        for line in lines:
            self.stderr.write(line)

    def tell(self, report: Report, dry_run: bool) -> None:
        self.stdout.write("Nothing was changed; this is what would be:" if dry_run else "Brought in:")
        for record in RECORDS:
            created, changed, unchanged = report.counts(record)
            self.stdout.write(
                f"  {record + 's':<11}{created:>5} created {changed:>5} changed {unchanged:>5} unchanged"
            )
        bad = len({fault.line for fault in report.faults})
        if bad:
            self.stdout.write(f"  {bad} {'row' if bad == 1 else 'rows'} not brought in, see above")
