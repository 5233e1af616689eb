"""manage.py add_generic_cleaners [--by EMAIL]"""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction

from contractor.register import services
from contractor.register.management.commands.import_register import office_person
from contractor.trail.actor import acting_as


class Command(BaseCommand):
    help = (
        "Add the generic cleaners' sheets that are not there yet (inhibited hydrochloric, phosphoric, "
        "sulfamic, citric, glycolic with formic), each property with its source. The label and the safety "
        "data sheet of the product you buy go before them."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--by", metavar="EMAIL", help="who answers for it in the trail")

    def handle(self, *args: Any, **options: Any) -> None:
        person = office_person(options["by"])
        by = person.email if person else "add_generic_cleaners"
        with acting_as(person.pk if person else None, by), transaction.atomic():
            added = services.add_generic_cleaners()
        for cleaner in added:
            self.stdout.write(f"added {cleaner}")
        self.stdout.write("Nothing to add: all are there." if not added else "")
