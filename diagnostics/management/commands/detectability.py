"""`manage.py detectability`: the smallest fouling that would be called on a unit, and what would lower it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser

from diagnostics.batch.faults import NothingRun
from diagnostics.batch.results import plain
from diagnostics.engine.detectability import Detectability
from diagnostics.engine.records import MODES
from diagnostics.engine.smallest_call import WORDS


class Command(BaseCommand):
    help = (
        "The smallest fouling called with 90 % confidence, by mode: of a unit in a file, or of an exchanger "
        "on record; and what a better thermometer, a flow meter or one more clean visit would buy."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--units", metavar="UNITS.csv", help="the exchangers, as for assess")
        parser.add_argument("--unit", help="only this unit of the file")
        parser.add_argument("--readings", metavar="READINGS.csv", help="what was read, clean visits among it")
        parser.add_argument("--tables", metavar="TABLES.csv", help="rows of makers' operating tables")
        parser.add_argument("--events", metavar="EVENTS.csv", help="what was done to the units")
        parser.add_argument("--instruments", metavar="FILE.csv", help="accuracies in place of the defaults")
        parser.add_argument("--exchanger", type=UUID, help="id of an exchanger on record, instead of files")
        parser.add_argument("--gauge-set", type=UUID, help="id of the gauge set to read it with")
        parser.add_argument("--mode", choices=MODES, help="only this mode")
        parser.add_argument("--json", action="store_true", help="one JSON object a line")

    def handle(self, *args: Any, **options: Any) -> None:
        if (options["units"] is None) == (options["exchanger"] is None):
            raise CommandError("give --units FILE or --exchanger ID, one of them", returncode=2)
        found = 0
        try:
            for one in self._of_files(options) if options["units"] else self._on_record(options):
                self.stdout.write(json.dumps(plain(one)) if options["json"] else _table(one))
                found += 1
        except NothingRun as nothing:
            raise CommandError("; ".join(map(str, nothing.faults)), returncode=2) from nothing
        if not found:
            raise CommandError(f"no unit {options['unit'] or ''} in {options['units']}", returncode=2)

    def _of_files(self, options: dict[str, Any]) -> Iterable[Detectability]:
        from diagnostics.detecting.services import of_files

        names = ("units", "unit", "readings", "tables", "events", "instruments", "mode")
        return of_files(**{name: options[name] for name in names})

    def _on_record(self, options: dict[str, Any]) -> Iterable[Detectability]:
        from django.utils import timezone

        from contractor.register.models import Exchanger, GaugeSet
        from diagnostics.detecting.services import of_exchanger

        exchanger = Exchanger.objects.filter(pk=options["exchanger"]).first()
        if exchanger is None:
            raise CommandError(f"no exchanger {options['exchanger']} on record", returncode=2)
        gauges = GaugeSet.objects.filter(pk=options["gauge_set"]).first()
        if options["gauge_set"] and gauges is None:
            raise CommandError(f"no gauge set {options['gauge_set']} on record", returncode=2)
        return of_exchanger(exchanger, timezone.now(), gauges, options["mode"])


def _table(one: Detectability) -> str:
    head = f"{one.unit}, {one.mode} (on {one.rests_on})"
    unit = one.limit.unit if one.limit else ""
    rows = [f"  {WORDS[name]:<48} {value:.2e} {unit}" for name, value in one.smallest.items()]
    why = [f"  {one.why_not}"] if one.why_not else []
    return "\n".join([head, *rows, *why, f"  {one.sentence}"])
