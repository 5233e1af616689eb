"""Slows down guessing of passwords without letting a stranger lock anybody out.

Each attempt counts before the password is looked at, in one statement of the database, so twenty at once
cannot slip through together. Three counts a quarter of an hour: account and address together, address,
account. The last one could be used to lock a person out, so it does not bind an address from which that
account signed in within the last 30 days. Windows are fixed: waiting always helps, and an attempt never
prolongs the wait.
"""

from __future__ import annotations

import hashlib
import ipaddress
from datetime import datetime, timedelta

from django.conf import settings
from django.db import connection
from django.db.models import F
from django.http import HttpRequest

from contractor.accounts.models import SignInCount

WINDOW = timedelta(minutes=15)
KNOWN_FOR = timedelta(days=30)
BOTH_LIMIT, ADDRESS_LIMIT, ACCOUNT_LIMIT = 10, 60, 30

COUNT_UP = """
INSERT INTO accounts_signincount (key, count, window_ends_at) VALUES (%s, 1, %s)
ON CONFLICT (key) DO UPDATE SET
  count = CASE WHEN accounts_signincount.window_ends_at <= %s THEN 1 ELSE accounts_signincount.count + 1 END,
  window_ends_at = CASE WHEN accounts_signincount.window_ends_at <= %s
                        THEN excluded.window_ends_at ELSE accounts_signincount.window_ends_at END
RETURNING count
"""


def key(kind: str, *parts: str) -> str:
    return hashlib.sha256("\n".join([kind, *parts]).encode()).hexdigest()


def keys_of(email: str, address: str) -> dict[str, str]:
    return {
        "both": key("both", email, address),
        "address": key("address", address),
        "account": key("account", email),
    }


def count_up(name: str, now: datetime, window: timedelta = WINDOW) -> int:
    adapt = connection.ops.adapt_datetimefield_value
    with connection.cursor() as cursor:
        cursor.execute(COUNT_UP, [name, adapt(now + window), adapt(now), adapt(now)])
        return int(cursor.fetchone()[0])


def seconds_to_wait(email: str, address: str, now: datetime) -> int:
    """Counts this attempt. 0: go on; else how long until it is worth trying again [s]."""
    keys = keys_of(email, address)
    limits = {"both": BOTH_LIMIT, "address": ADDRESS_LIMIT, "account": ACCOUNT_LIMIT}
    over = [name for name, limit in limits.items() if count_up(keys[name], now) > limit]
    if over == ["account"] and is_known(email, address, now):
        over = []
    if not over:
        return 0
    ends = SignInCount.objects.filter(pk__in=[keys[name] for name in over]).values_list(
        "window_ends_at", flat=True
    )
    return max(int((max(ends) - now).total_seconds()) + 1, 1)


def is_known(email: str, address: str, now: datetime) -> bool:
    return SignInCount.objects.filter(pk=key("known", email, address), window_ends_at__gt=now).exists()


def note_success(email: str, address: str, now: datetime) -> None:
    """A right password does not count, and makes the address known for this account.

    Of the address only this attempt is taken back: what others guessed from there stays counted.
    """
    keys = keys_of(email, address)
    SignInCount.objects.filter(pk=keys["address"], count__gt=0).update(count=F("count") - 1)
    SignInCount.objects.filter(pk__in=[keys["both"], keys["account"]]).delete()
    SignInCount.objects.filter(pk=key("known", email, address)).delete()
    count_up(key("known", email, address), now, KNOWN_FOR)


def address_of(request: HttpRequest) -> str:
    """The caller's address.

    Behind our own proxies, the one that the outermost of them saw. IPv6 by its /64.
    """
    address = request.META.get("REMOTE_ADDR", "")
    if settings.PROXIES:
        seen = [
            part.strip() for part in request.META.get("HTTP_X_FORWARDED_FOR", "").split(",") if part.strip()
        ]
        address = seen[-min(settings.PROXIES, len(seen))] if seen else address
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    if isinstance(found, ipaddress.IPv6Address):
        return str(ipaddress.ip_network(f"{found}/64", strict=False))
    return str(found)


def purge(now: datetime) -> int:
    return SignInCount.objects.filter(window_ends_at__lt=now).delete()[0]
