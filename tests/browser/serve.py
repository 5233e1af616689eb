"""The service's own server in a process of its own, on a port that is given: `python -m tests.browser.serve
PORT`."""

from __future__ import annotations

import sys

import django


def main() -> None:
    django.setup()
    from contractor.demo.serving import bound, serve_while

    serve_while(bound(int(sys.argv[1])), lambda: True)


if __name__ == "__main__":
    main()
