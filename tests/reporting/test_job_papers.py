"""A descale's papers as a reader meets them: order, what must stand there, both sizes, same bytes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader
from reportlab.lib.pagesizes import A4, LETTER

from reporting.documents import certificate, client_notice, job_sheet
from reporting.documents.drawn import qr_code
from tests.reporting import job_samples as samples

SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\n": " "})
PAPERS = {"a4": A4, "letter": LETTER}
ALL: list[tuple[Any, Callable[[], Any]]] = [
    (job_sheet, samples.planned), (job_sheet, samples.under_way), (job_sheet, samples.bare),
    (certificate, samples.certificate), (certificate, samples.no_better), (certificate, samples.unproved),
    (client_notice, samples.notice),
]  # fmt: skip


def pages(content: bytes) -> list[str]:
    return [
        " ".join(page.extract_text().translate(SPACES).split()) for page in PdfReader(BytesIO(content)).pages
    ]


def whole(of: Any, facts: Any) -> str:
    return " ".join(pages(of.render(facts)))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(("of", "sample"), ALL)
def test_each_paper_comes_on_both_sizes_and_has_the_same_bytes_twice(
    of: Any, sample: Callable[[], Any], paper: str
) -> None:
    content = of.render(sample(), paper)
    assert content == of.render(sample(), paper)
    box = PdfReader(BytesIO(content)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(PAPERS[paper], abs=0.1)


def test_a_job_sheet_begins_with_what_comes_before_acid_then_help_then_the_dose() -> None:
    first = pages(job_sheet.render(samples.planned()))[0]
    wanted = ["No acid before every check is passed", "no warmer than 48 °C", "Every batch is out 6 h after",
              "If someone is hurt", "112, plant desk 0555 0142", "4 Tidewater Row", "riser cupboard door",
              "15 minutes", "The dose", "35.9 L", "4 of 1.05 kg",
              "Stop means: drain and rinse now"]  # fmt: skip
    places = [first.index(words) for words in wanted]
    assert places == sorted(places)


@pytest.mark.parametrize(
    "words",
    [
        "10 % by mass",
        "2 likely, 1 to 3 possible",
        "have a second ready",
        "300 mg/L, iron 3 000 mg/L",
        "Level rising: pump off, shut the hose valves",
        "If it goes in at 09:00 09:00 15:00",
        "Looks at 0, 3, 6 and 10 minutes",
        "Prove it dead at the terminals",
        "Locks and tags off. Never left open",
        "3.64 kg (8.02 lb) if it is still fresh",
        "4 of 7.10 L",
        "sewer, letter of the works, 4 May 2024; never to storm drain, ground, well or septic tank",
        "copper at most 4.6 mg/L",
        "0.93 % of the room's air: a fan and a carbon dioxide meter",
        "small transfer pump of about a quarter horsepower serves",
        "68 dB(A) at 1 m; quiet hours 20:00 to 07:00 are kept",
        "The water is treated: nitrite",
        "Sulfamic acid gasses violently on nitrite",
        "Balancing valve on record at: 2.5 turns open",
        "Not on file: label",
        "Locks and tags, ground-fault protected outlet",
        "Cooling tower water: keep aerosol away",
        "No connection to drinking water without backflow protection",
        "Never mix cleaners, and never with bleach",
    ],
)
def test_a_job_sheet_says_what_the_hand_beside_the_tank_needs(words: str) -> None:
    assert words in whole(job_sheet, samples.planned())


def test_once_mixed_the_stop_times_are_those_of_the_clock() -> None:
    text = whole(job_sheet, samples.under_way())
    assert "Batch 1 09:12 15:12" in text and "If it goes in at" not in text


def test_what_is_not_known_leaves_a_line_to_write_on_and_never_a_guess() -> None:
    text = whole(job_sheet, samples.bare())
    assert "Emergency number ____" in text and "Eyewash at ____" in text
    assert "titration decides" in text
    assert "nowhere yet: hold it" in text
    assert "Batch ___ as mixed" in text


def test_a_drain_that_may_not_take_it_is_told_at_the_top() -> None:
    sheet = samples.planned()
    limits = replace(sheet.limits, against=("copper is limited to 4.6 mg/L and has not been measured",))
    assert "Not to the drain as planned: copper is limited" in pages(
        job_sheet.render(replace(sheet, limits=limits))
    )[0]  # fmt: skip


def test_the_code_on_the_sheet_holds_the_jobs_address() -> None:
    address = samples.planned().address_of_job
    widget = qr_code(address).contents[0]
    assert widget.value == address
    widget.qr.make()
    modules = widget.qr.modules
    assert (
        len(modules) == 17 + 4 * widget.qr.version
    )  # ISO/IEC 18004: a code of version v has 17 + 4 v modules
    finder = [modules[0][n] for n in range(7)]
    assert finder == [True] * 7  # upper edge of the finder pattern


def test_a_certificate_begins_with_whether_it_helped_with_its_interval() -> None:
    first = pages(certificate.render(samples.certificate()))[0]
    assert first.startswith("Descale certificate The descale removed fouling, and the readings show it.")
    assert "2.4 × 10⁻⁴ m²K/W, 95 % interval 1.9 to 2.9" in first
    assert "probability of over 99 %" in first and "The fault lockout is cleared" in first
    assert "2.6 × 10⁻⁴ m²K/W before (1.9 to 3.4) and 0.21" in first


@pytest.mark.parametrize(
    "words",
    [
        "sulfamic (generic), lot SA-2291, expires 31 Dec 2026",
        "bubbles and pale solids",
        "Dissolved, by titration. About 2.10 kg (1.70 to 2.60 kg)",
        "7.2 copper 3.9, iron 210 sewer, letter of the works, 4 May 2024",
        "Outside the site's limits. Copper 6.1 mg/L is above 4.6 mg/L",
        "yard, bay 3; Northmoor Mechanical",
        "2 783 kPa 2 390 kPa −14 %",
        "Look at the strainer after a day: Wilf Arkady",
        "Maren Oske for the customer, 20 March 2025, 17:25 UTC",
        "Wilf Arkady for the contractor",
    ],
)
def test_a_certificate_says_what_was_used_what_came_out_and_where_it_went(words: str) -> None:
    assert words.lower() in whole(certificate, samples.certificate()).lower()


def test_no_improvement_is_told_as_such() -> None:
    text = whole(certificate, samples.no_better())
    assert "the readings show no improvement" in text and "removed fouling, and" not in text
    assert "NOT cleared" in text and "not called by the log" in text
    assert "best known state, not as clean" in text
    assert "Not read with the same gauge set" in text


def test_without_readings_nothing_is_claimed() -> None:
    text = whole(certificate, samples.unproved())
    assert "whether it helped is not known" in text and "Not signed" in text
    assert "Nothing is on record as let out or held" in text


def test_a_signature_is_drawn_on_the_page() -> None:
    with_it = certificate.render(samples.certificate())
    without = certificate.render(replace(samples.certificate(), signatures=()))
    operators = [
        PdfReader(BytesIO(content)).pages[-1].get_contents().get_data().count(b" l")
        for content in (with_it, without)
    ]
    assert operators[0] > operators[1] + 150  # two signatures of 80 strokes each


def test_a_notice_is_one_page_and_says_when_how_long_with_what_and_who_else() -> None:
    told = pages(client_notice.render(samples.notice()))
    assert len(told) == 1
    for words in ("20 March 2025, 08:00 UTC: about 9 hours without this unit", "68 dB(A)", "HR-08",
                  "sulfamic acid, about 10 % in water", "goes along with this notice, dated 3 January 2025",
                  "112, plant desk"):  # fmt: skip
        assert words in told[0]


def test_a_certificate_tells_removal_and_limit_by_area_and_of_the_whole_exchanger() -> None:
    # by hand: 2.40e-4 m2K/W and 1.761e-4 m2K/W over 1.2 m2 are 2.00e-4 and 1.47e-4 K/W
    text = " ".join(pages(certificate.render(samples.certificate())))
    assert "Fouling resistance removed: 2.4 × 10⁻⁴ m²K/W" in text
    assert "of the whole exchanger 2.00 × 10⁻⁴ K/W" in text
    assert "the limit is 1.76 × 10⁻⁴ m²K/W. Of the whole exchanger the limit is 1.47 × 10⁻⁴ K/W." in text


def test_without_an_area_a_certificate_tells_of_the_whole_exchanger_only() -> None:
    proof = replace(samples.PROOF, unit="K/W", area_m2=None)
    text = " ".join(pages(certificate.render(replace(samples.certificate(), proof=proof))))
    assert "the limit is 1.76 × 10⁻⁴ K/W" in text and "m²K/W" not in text
