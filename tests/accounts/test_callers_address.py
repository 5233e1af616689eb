"""Whose attempts are counted together."""

from __future__ import annotations

import pytest
from django.test import RequestFactory, override_settings

from contractor.accounts.guard import address_of


@pytest.mark.parametrize(
    ("proxies", "forwarded", "expected"),
    [
        (0, "203.0.113.7", "192.0.2.1"),
        (1, "203.0.113.7", "203.0.113.7"),
        (1, "made.up, 203.0.113.7", "203.0.113.7"),
        (1, "198.51.100.1, 203.0.113.7", "203.0.113.7"),
        (2, "198.51.100.1, 203.0.113.7", "198.51.100.1"),
        (2, "203.0.113.7", "203.0.113.7"),
        (1, "", "192.0.2.1"),
        (1, "rubbish", "unknown"),
        (1, "2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
    ],
)
def test_only_what_our_own_proxies_saw_is_believed(proxies: int, forwarded: str, expected: str) -> None:
    more = {"HTTP_X_FORWARDED_FOR": forwarded} if forwarded else {}
    request = RequestFactory().get("/", REMOTE_ADDR="192.0.2.1", **more)
    with override_settings(PROXIES=proxies):
        assert address_of(request) == expected
