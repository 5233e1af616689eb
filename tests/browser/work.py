"""The embedded worker in a process of its own; says on standard output when it is ready."""

from __future__ import annotations

import signal
import sys
import time

import django


def main() -> None:
    django.setup()
    from contractor.workqueue import embedded

    signal.signal(signal.SIGTERM, lambda *args: sys.exit(0))
    with embedded.worker(finish_within_s=5.0) as worker:
        print("ready", flush=True)
        while worker.alive():
            time.sleep(0.2)


if __name__ == "__main__":
    main()
