"""Where tests keep their files, which database and broker they use, and the fixed cast of every access test.

DATABASE_URL and REDIS_URL choose PostgreSQL and Redis; without them tests use SQLite and the broker of files, both
under a fresh temporary folder. This runs before Django reads its settings.
"""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile

if not os.environ.get("WATERSIDE_VAR_OF_TESTS"):
    folder = tempfile.mkdtemp(prefix="waterside-tests-")
    os.environ["WATERSIDE_VAR_OF_TESTS"] = os.environ["WATERSIDE_VAR"] = folder
    os.environ.setdefault("WATERSIDE_SECRET_KEY", "only-for-tests-only-for-tests-only-for-tests")
    os.environ.setdefault("WATERSIDE_HTTPS", "no")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)

pytest_plugins = ["tests.cast"]


def pytest_configure() -> None:
    from django.conf import settings

    # Argon2 is meant to be slow; the tests of sign-in that need it ask for it.
    settings.PASSWORD_HASHERS = [
        "django.contrib.auth.hashers.MD5PasswordHasher",
        *settings.PASSWORD_HASHERS,
    ]
