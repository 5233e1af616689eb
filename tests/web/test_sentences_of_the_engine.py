"""What the engine says stands on pages in the units of whoever reads them."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from django.template import Context, Template

SENTENCE = "approach 9.0 K, condensing at 45.0 degC, 4.9 +- 0.6 K; the flow meter tells 0.5 kg/s"


@pytest.mark.parametrize(
    ("units", "mark", "text"),
    [
        # 9 K are 16.2 degF of difference, 45 degC is 113 degF; 0.5 kg/s of water at 998.2 kg/m3 is
        # 0.5009 L/s, and a US gallon a minute is 0.0630902 L/s
        (
            "inch_pound",
            "point",
            "approach 16.2 °F, condensing at 113.0 °F, 8.8 ± 1.1 °F; the flow meter tells 7.94 gpm of water",
        ),
        ("si", "comma", "approach 9,0 K, condensing at 45,0 °C, 4,9 ± 0,6 K; the flow meter tells 0,5 kg/s"),
    ],
)
def test_a_sentence_is_told_in_units_and_mark_of_its_reader(units: str, mark: str, text: str) -> None:
    reader = SimpleNamespace(units=units, decimal_mark=mark)
    page = Template("{% load waterside %}{% said sentence %}")
    shown = page.render(Context({"sentence": SENTENCE, "request": SimpleNamespace(user=reader)}))
    assert shown.replace("\N{NO-BREAK SPACE}", " ") == text


def test_what_the_engine_says_is_escaped_on_the_page() -> None:
    page = Template("{% load waterside %}{% said sentence %}")
    assert "<b>" not in page.render(Context({"sentence": "<b>HP-1</b>"}))
