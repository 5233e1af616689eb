from __future__ import annotations

import argparse
import contextlib
import shutil
import signal
import time
from pathlib import Path
from typing import Any, NoReturn

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from contractor.accounts.models import Person, Role
from contractor.demo import (
    booking,
    descaling,
    loading,
    papers,
    serving,
    sign_ins,
    table,
    working,
)
from contractor.demo.history import History
from contractor.demo.scenario import Scenario
from contractor.visits.services.rules import ASSESS, RANK
from contractor.workqueue import embedded
from reporting.services import VISIT_REPORT

SCENARIO = settings.BASE_DIR / "fixtures" / "scenario"
GROWN = (
    "The demo keeps to the embedded setting, and DATABASE_URL or REDIS_URL is set: "
    "it would put invented customers beside real ones. Run it without them."
)


EXPECTED = (loading.NotTheDemo, serving.PortTaken, working.WorkerGone, embedded.WorkerDidNotStart)


# kept free for stories by the regulator of telephone numbers (Ofcom)
NOBODYS_PHONE = "01632 960100"


class Command(BaseCommand):
    help = "Load the invented scenario, assess every reading, write reports, print what to do next, serve."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--serve",
            action=argparse.BooleanOptionalAction,
            default=True,
            help="serve pages and API afterwards",
        )
        parser.add_argument("--port", type=int, default=8000, help="port on 127.0.0.1 (default 8000)")
        parser.add_argument(
            "--scenario", type=Path, default=SCENARIO, help="a folder with another scenario of the same form"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.GROWN:
            raise CommandError(GROWN)
        signal.signal(signal.SIGTERM, stop)
        self.world = Scenario(options["scenario"])
        settings.OFFICE_PHONE = settings.OFFICE_PHONE or NOBODYS_PHONE
        started = time.monotonic()
        try:
            server = serving.bound(options["port"]) if options["serve"] else None
            call_command("migrate", verbosity=0, interactive=False)
            call_command("collectstatic", verbosity=0, interactive=False)
            self.tell(f"everything is kept under {settings.VAR_DIR}")
            loading.refuse_beside_another(self.world)
            with embedded.worker(ready_first=False) as worker:
                loading.load(self.world, self.tell)
                self.work(worker)
                booking.book_coming(timezone.now())
                self.show(time.monotonic() - started)
                if server:
                    self.serve(server, worker)
        except KeyboardInterrupt:
            self.tell("stopped")
        except EXPECTED as exc:
            raise CommandError(str(exc)) from exc

    def tell(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()

    def work(self, worker: embedded.EmbeddedWorker) -> None:
        office = Person.objects.filter(role=Role.OFFICE).first()
        working.ask_for_assessments()
        working.wait_for(ASSESS, "readings assessed", worker.alive)
        working.ask_for_rankings()
        working.wait_for(RANK, "readings ranked by cause", worker.alive)
        working.ask_for_reports(office)
        working.wait_for(VISIT_REPORT, "reports written", worker.alive)
        working.release_for(self.world.first_customer, office, timezone.now())
        descaling.prepare(timezone.now(), self.tell)

    def show(self, seconds: float) -> None:
        lines = table.lines(History(self.world), working.latest_assessments())
        self.tell("")
        for line in table.printed(lines, shutil.get_terminal_size((180, 50)).columns):
            self.tell(line)
        self.tell(f"\n{table.summary(lines)}\n")
        self.show_documents()
        self.show_sign_ins()
        self.tell(f"\ndone in {seconds:.0f} s")
        if failed := working.failures():
            raise CommandError("not everything went well:\n  " + "\n  ".join(failed))

    def show_documents(self) -> None:
        released = self.world.first_customer
        self.tell(f"Reports as PDF (those for {released} are released, the others wait for the office):")
        for path in papers.copies():
            self.tell(f"  {path}")

    def show_sign_ins(self) -> None:
        self.tell(f"\nSign-ins (made for this demo, kept in {sign_ins.kept_in()}):")
        for email, person in sign_ins.kept().items():
            self.tell(f"  {person['role']:11} {email:32} {person['password']}")

    def serve(self, server: Any, worker: embedded.EmbeddedWorker) -> None:
        port = server.server_address[1]
        self.tell(
            f"\nOpen http://{serving.ADDRESS}:{port}/ in a browser and sign in as one of these: "
            "office plans and releases, a technician reads, a client looks.\n"
            "Programs find the API under /api/v1/. It serves until Ctrl-C."
        )
        with contextlib.ExitStack() as others:
            while True:
                serving.serve_while(server, worker.alive)
                self.tell("the worker stopped; another is started, and what waits is taken up")
                worker = others.enter_context(embedded.worker())


def stop(number: int, frame: object) -> NoReturn:
    raise SystemExit(128 + number)
