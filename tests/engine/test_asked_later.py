"""What records came to be asked for later leaves the digest of those kept before as it was."""

from dataclasses import dataclass, fields, replace

import pytest

from diagnostics.engine.records import ExchangerFacts, ReadingSet
from tests.engine.case import FACTS, reading


def as_a_dataclass_writes_it(record, left_out):
    told = [f"{one.name}={getattr(record, one.name)!r}" for one in fields(record)
            if one.repr and one.name not in left_out]  # fmt: skip
    return f"{type(record).__name__}({', '.join(told)})"


@pytest.mark.parametrize(
    ("record", "later"),
    [
        (FACTS, ("between_ports", "port_rise_m", "fan_power_w")),
        (reading(0.0), ("drop_read_by", "power_includes_fan")),
    ],
)
def test_unsaid_it_is_not_written_and_said_it_is(record, later):
    assert repr(record) == as_a_dataclass_writes_it(record, later)
    for name in later:
        assert f"{name}=0.5" in repr(replace(record, **{name: 0.5}))


def test_python_still_writes_a_dataclass_so():
    @dataclass(frozen=True, slots=True)
    class Plain:
        one: int = 1
        other: str | None = None

    assert repr(Plain()).endswith("Plain(one=1, other=None)")


def test_a_record_without_a_word_stays_hashable_and_equal():
    assert hash(FACTS) == hash(replace(FACTS)) and isinstance(FACTS, ExchangerFacts)
    assert isinstance(reading(0.0), ReadingSet)
