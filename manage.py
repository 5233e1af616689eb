#!/usr/bin/env python
import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contractor.config.settings")
    from django.core.management import execute_from_command_line

    from contractor.trail.actor import acting_as

    # what a command writes is its own in the trail, unless it says on whose behalf it writes
    with acting_as(None, f"manage.py {sys.argv[1] if len(sys.argv) > 1 else 'help'}"[:80]):
        execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
