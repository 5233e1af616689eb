"""Settings of the tests: those of the service, with files, database and broker under a fresh temporary
folder.

DATABASE_URL and REDIS_URL choose PostgreSQL and Redis, as everywhere; without them tests use SQLite and the
broker of files. A worker that a test starts inherits the folder by the environment.
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

from contractor.config.settings import *  # noqa: F403
from contractor.config.settings import INSTALLED_APPS, PASSWORD_HASHERS, STATIC_ROOT

STATIC_ROOT.mkdir(exist_ok=True)
# Argon2 is meant to be slow; a test that is about it asks for it.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher", *PASSWORD_HASHERS]
INSTALLED_APPS = [*INSTALLED_APPS, "tests.faults"]
