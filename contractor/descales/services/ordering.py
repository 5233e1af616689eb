"""The order of the checks before acid: which come before which, and which prove nothing when they did not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from contractor.descales.models import Check, Descale
from contractor.descales.services.rules import Saying
from contractor.descales.words import CHECKS, COMES_AFTER, PROVES_NOTHING_BEFORE
from contractor.register.services import rows

OUT_OF_ORDER = "out_of_order"
SETTLED = ("passed", "not_needed")


def out_of_order(check: Check, checks: Sequence[Check], needed: Sequence[str]) -> tuple[str, ...]:
    """Checks of this unit to be settled by this one's clock that were not, in their order. Once
    acid is in the order is past telling."""
    if "after_acid" in check.marks:
        return ()
    done = {one.kind for one in checks if one.outcome in SETTLED and one.at <= check.at and one is not check}
    return tuple(kind for kind in COMES_AFTER.get(check.kind, ()) if kind in needed and kind not in done)


def mark_the_order(descale: Descale, needed: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Mark every check that came too early, and take the mark off where an earlier one came in late. By id,
    what each lacked."""
    checks = list(Check.objects.filter(descale=descale).order_by("at", "received_at"))
    found = {}
    for check in checks:
        lacked = out_of_order(check, checks, needed)
        marks = [one for one in check.marks if one != OUT_OF_ORDER] + [OUT_OF_ORDER] * bool(lacked)
        rows.change(check, {"marks": marks})
        if lacked:
            found[str(check.pk)] = lacked
    return found


def order_in_words(kind: str, lacked: Sequence[str]) -> Saying:
    first = "; ".join(CHECKS[one] for one in lacked)
    again = "Do that now, then this again." if kind in PROVES_NOTHING_BEFORE else "Do that now."
    return Saying(OUT_OF_ORDER, f"Out of order: kept, but before “{CHECKS[kind]}” comes: {first}. {again}",
                  urgent=True)  # fmt: skip


def proves_nothing(check: Check, latest: Mapping[str, Check]) -> str:
    """Why a check does not count for what was done after it; "" where it does."""
    if check.outcome != "passed":
        return ""
    later = [
        kind
        for kind in PROVES_NOTHING_BEFORE.get(check.kind, ())
        if kind in latest and latest[kind].outcome == "passed" and latest[kind].at > check.at
    ]
    said = "; ".join(CHECKS[kind] for kind in later)
    return f"Again, since this was done after it ({said}): {CHECKS[check.kind]}." if later else ""
