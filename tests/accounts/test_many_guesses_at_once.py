"""Twenty sign-ins at once do not slip through a count of ten."""

from __future__ import annotations

import threading

import pytest
from django.db import connection
from rest_framework.test import APIClient

from contractor.accounts import guard
from tests import make


@pytest.mark.django_db(transaction=True)
def test_twenty_guesses_at_once_count_twenty() -> None:
    make.person(email="target@example.org")
    answers: list[int] = []
    barrier = threading.Barrier(20)

    def guess() -> None:
        try:
            barrier.wait()
            content = {"email": "target@example.org", "password": "wrong wrong wrong", "device": "x"}
            answers.append(APIClient().post("/api/v1/sign-in/", content, format="json").status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=guess) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [401] * guard.BOTH_LIMIT + [429] * (20 - guard.BOTH_LIMIT)
