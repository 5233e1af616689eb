"""The visit report as a reader meets it: order, facts, pages, letters, and the same bytes twice."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from reportlab.lib.pagesizes import A4, LETTER

from diagnostics.engine.records import Interval, Warning
from reporting.documents import cautions, visit_report, words
from reporting.documents.facts import Done, ReadingLine, VisitReport
from reporting.documents.si import si_words
from tests.reporting import samples

SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\n": " "})
PAPERS = ("a4", "letter")


def reader(report: VisitReport, paper: str = "a4") -> PdfReader:
    return PdfReader(BytesIO(visit_report.render(report, paper)))


def flat(text: str) -> str:
    return " ".join(text.translate(SPACES).split())


def pages(report: VisitReport, paper: str = "a4") -> list[str]:
    return [flat(page.extract_text()) for page in reader(report, paper).pages]


def whole(report: VisitReport) -> str:
    return " ".join(pages(report))


def test_the_first_lines_of_the_first_page_say_what_to_do_next_then_the_verdict_then_why() -> None:
    text = pages(samples.fouled())[0]
    wanted = ["What to do next", "Back-flush the exchanger and read again", "Fouled.", "98 %",
              "3.1 K further from the water", "Customer"]  # fmt: skip
    places = [text.index(words) for words in wanted]
    assert text.startswith("What to do next")
    assert places == sorted(places)


def test_where_nothing_is_to_be_done_the_first_lines_say_so_and_why() -> None:
    text = pages(samples.clean())[0]
    assert text.startswith("What to do next Nothing to do on the water side")
    assert "within its fouling limit, with a probability of over 99 %" in text
    assert text.index("whole interval of the fouling resistance lies within its limit") < text.index(
        "Customer"
    )


def test_an_undecided_case_says_what_would_decide_it() -> None:
    text = whole(samples.undecided())
    assert "cannot tell" in text and "41 %" in text
    assert "What would decide it Discharge line would tell most: it was not read." in text
    assert "how the clean surface behaves 62 % and discharge line 21 %" in text
    assert "The maker's operating table would narrow the interval to about 55 % of what it is." in text
    assert (
        "would be called with 90 % confidence; the operating table from the manual would help most." in text
    )


def test_a_withheld_number_gives_the_reason_and_no_verdict() -> None:
    text = whole(samples.withheld())
    assert "No number given." in text
    assert "Leaving water 28.1 °C is colder than entering water 29.5 °C" in text
    assert "How the number would be computed" in text
    assert "fouled beyond" not in pages(samples.withheld())[0]


def test_where_only_flow_and_heat_can_be_told_there_is_no_verdict_but_the_numbers_are_there() -> None:
    text = whole(samples.without_reference())
    assert "No verdict. These readings tell flow and heat" in text
    assert "No number given" not in text and "0.512 kg/s" in text
    assert "Not known from these readings: excess approach, cleanliness and fouling resistance." in text


def test_the_engines_sentences_are_printed_in_the_words_of_people() -> None:
    told = (Warning("x", "leaving_water 16.9 degC against entering_water 30.0 degC is 50% of 2e-4 m2K/W"),)
    report = samples.fouled()
    text = whole(replace(report, answer=replace(report.answer, warnings=told)))
    assert "Leaving water 16.9 °C against entering water 30.0 °C is 50 % of 2 × 10⁻⁴ m²K/W." in text


FACTS = [
    "Harbour Reach Offices",
    "Quayside House",
    "4 Tidewater Row, Harbour Reach",
    "HR-07",
    "second floor, riser cupboard",
    "water-to-air heat pump",
    "no. 20-118",
    "circuit 1, coaxial, cupronickel",
    "R410A",
    "cooling tower, no antifreeze",
    "Wilf Arkady and Ines Corvale",
    "14 March 2025, 10:42 UTC",
    "cooling, full stage, routine reading",
    "Gauge set 2",
    "Entering water 85.1 °F 29.5 °C",
    "Head pressure 389 psi gauge 2 783 kPa absolute",
    "Water flow 8.1 US gpm 0.511 L/s",
    "Not read: suction line, compressor power and current",
    "Strainer: clean",
    "Excess approach 3.1 K 2.4 to 3.9 K",
    "Cleanliness 68 % 61 to 75 %",
    "0.512 kg/s",
    "1.51 kW/K",
    "11.84 kW",
    "2.6 × 10⁻⁴ m²K/W 1.9 to 3.4 × 10⁻⁴ m²K/W",
    "1.76 × 10⁻⁴ m²K/W",
    "TEMA Standards",
    "0.00148 h·ft²·°F/Btu",
    "Air in the refrigerant has not been ruled out",
    "Over time",
    "4 Apr 2023",
    "Descaled",
    "JCGM 101:2008",
    "IAPWS",
    "20 000 random draws",
    "clean visit of 2 April 2023 and maker's operating table",
    "Engine 0.1.0",
    "7f3a9c51e0b84d2f6a1be07c95d3f482117c0a64e9d85b3321fa6e0c4d9b7a58",
    "Northmoor Mechanical",
]


@pytest.mark.parametrize("fact", FACTS)
def test_the_report_tells(fact: str) -> None:
    assert fact in TOLD


TOLD = whole(samples.fouled())


def test_warnings_are_all_told() -> None:
    text = whole(samples.crowded())
    for number in range(40):
        assert f"Reading {number} of this set stands at {number}.{number} °C" in text


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", samples.ALL)
def test_every_page_says_which_of_how_many_it_is(name: str, paper: str) -> None:
    told = pages(samples.ALL[name](), paper)
    for number, text in enumerate(told, start=1):
        assert f"Page {number} of {len(told)}" in text


@pytest.mark.parametrize(("paper", "size"), [("a4", A4), ("letter", LETTER)])
def test_the_paper_is_the_one_asked_for(paper: str, size: tuple[float, float]) -> None:
    for page in reader(samples.fouled(), paper).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", samples.ALL)
def test_no_text_leaves_the_margins(name: str, paper: str) -> None:
    for page in reader(samples.ALL[name](), paper).pages:
        right = float(page.mediabox.width) - 50

        def place(
            text: str, cm: list[float], tm: list[float], font: object, size: float, edge: float = right
        ) -> None:
            if text.strip():
                assert 50 <= tm[4] * cm[0] + cm[4] <= edge

        page.extract_text(visitor_text=place)


@pytest.mark.parametrize("name", samples.ALL)
def test_the_same_report_gives_the_same_bytes(name: str) -> None:
    assert visit_report.render(samples.ALL[name]()) == visit_report.render(samples.ALL[name]())


def test_fonts_are_embedded() -> None:
    for page in reader(samples.crowded()).pages:
        fonts = page["/Resources"]["/Font"]
        for font in fonts.values():
            descriptor = font.get_object().get("/FontDescriptor")
            assert descriptor is not None and "/FontFile2" in descriptor.get_object(), font


def test_a_name_in_another_script_is_marked_and_explained_never_a_black_box() -> None:
    text = whole(samples.crowded())
    assert "Ωmega Łódź Жуково Tower" in text, "Greek, Cyrillic and accented Latin are set as they are"
    assert "(…)" in text and "in a script that this document's typeface lacks" in text
    assert "株" not in text and "\ufffd" not in text and "\x07" not in text and "\u202e" not in text
    assert "in a script" not in whole(samples.fouled())


def test_markup_in_a_name_is_printed_as_it_is() -> None:
    name = "<img src='x'/> & <b>Sons</b>"
    assert "<img src='x'/> & <b>Sons</b>" in whole(replace(samples.fouled(), customer=name))


@settings(max_examples=40, deadline=None)
@given(
    st.text(max_size=300), st.text(max_size=40), st.floats(allow_nan=False, width=32), st.sampled_from(PAPERS)
)
def test_whatever_people_type_the_report_is_written(long: str, short: str, value: float, paper: str) -> None:
    ends = sorted([value, value * 0.5, value * 1.5])
    answer = replace(
        samples.FOULED_ANSWER,
        do_next=long,
        warnings=(Warning(short, long),),
        excess_approach_k=Interval(ends[1], ends[0], ends[2]),
        fouling_resistance_m2k_per_w=Interval(ends[1], ends[0], ends[2]),
    )
    typed = (ReadingLine("head_pressure", short, short, short),)
    report = replace(
        samples.fouled(), answer=answer, customer=long, site=long, unit=short, place=short, taken_by=long,
        note=long, address=long, gauge_set=short, readings=typed,
    )  # fmt: skip
    assert len(reader(report, paper).pages) >= 2


def test_a_note_of_many_pages_and_a_warning_of_many_lines_are_printed_whole() -> None:
    report = samples.fouled()
    long = " ".join(f"word{i}" for i in range(4000))
    answer = replace(report.answer, warnings=(Warning("x", long),))
    text = whole(replace(report, note=long, answer=answer))
    assert text.count("word3999") == 2


def test_the_properties_of_the_file_name_title_contractor_and_language() -> None:
    found = reader(samples.fouled())
    assert found.metadata is not None
    assert found.metadata.title == "Visit report: unit HR-07 circuit 1, 14\u00a0March\u00a02025"
    assert found.metadata.author == "Northmoor Mechanical"
    assert found.trailer["/Root"]["/Lang"] == "en-GB"
    titles = [entry.title for entry in found.outline if not isinstance(entry, list)]
    assert titles[0] == "What to do next" and "Readings" in titles


def test_the_cautions_stand_once_where_chemical_work_is_spoken_of() -> None:
    text = whole(samples.fouled())
    assert text.count("Acid into water, never the reverse") == 1
    assert text.count("Lock out, tag out") == 1
    assert "Legionella" in text and "Emergency number of this site: 555 0100" in text


def test_the_chemical_cautions_are_left_out_where_nothing_chemical_is_spoken_of() -> None:
    text = whole(replace(samples.clean(), done=()))
    assert "Acid into water" not in text
    assert "Lock out, tag out" in text


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"refrigerant": "R32"}, "mildly flammable"),
        ({"refrigerant": "R-454B"}, "mildly flammable"),
        ({"refrigerant": "R290"}, "R290 is highly flammable"),
        ({"refrigerant": "R123"}, "toxic"),
        ({"antifreeze": "methanol"}, "burns"),
        ({"antifreeze": "ethylene_glycol"}, "poisonous"),
        ({"water_source": "cooling_tower"}, "Legionella"),
    ],
)
def test_a_caution_is_told_where_it_applies(given: dict[str, str], told: str) -> None:
    usual = {"refrigerant": "R410A", "antifreeze": "none", "water_source": "closed_loop"}
    plain = " ".join(cautions.cautions(chemical=False, **usual))
    assert told not in plain
    assert told in " ".join(cautions.cautions(chemical=False, **{**usual, **given}))


@pytest.mark.parametrize(
    ("text", "chemical"),
    [
        ("Plan a chemical descale", True),
        ("mix the acid", True),
        ("the cleaner's label comes first", True),
        ("the surface seems much cleaner than the reference", False),
        ("Back-flush and read again", False),
    ],
)
def test_chemical_work_is_recognised_by_what_is_said(text: str, chemical: bool) -> None:
    assert cautions.speaks_of_chemical_work([text]) is chemical


def test_readings_in_si_units_get_no_column_of_us_units() -> None:
    lines = tuple(replace(line, typed_unit="degC") for line in samples.READINGS[:2])
    text = whole(replace(samples.fouled(), readings=lines))
    assert "US units" not in text and "h·ft²·°F/Btu" not in text


def test_where_no_area_is_known_the_answer_is_in_kelvin_a_watt() -> None:
    text = whole(samples.without_area())
    assert "2.1 × 10⁻⁴ K/W" in text and "m²K/W 1.5" not in text


def test_a_report_with_only_what_is_compulsory_is_still_whole() -> None:
    text = whole(samples.bare())
    assert "Larkfield Homes" in text and "None" not in text.replace("None: the readings", "")


def test_a_report_is_written_in_less_than_300_ms() -> None:
    report = samples.fouled()
    visit_report.render(report)
    times = []
    for _ in range(5):
        start = time.process_time()  # others on the machine do not count
        visit_report.render(report)
        times.append(time.process_time() - start)
    assert min(times) < 0.3


def test_a_past_descale_carries_one_line_and_a_descale_of_this_visit_all_cautions() -> None:
    quiet = replace(
        samples.fouled(),
        done=(),
        answer=replace(samples.withheld().answer, do_next="Read leaving water.", warnings=()),
    )
    assert "Acid into water" not in whole(quiet)
    told = replace(quiet, done=(Done(samples.TAKEN - timedelta(days=90), "descaled"),))
    assert "Acid into water" not in whole(told)
    assert whole(told).count("Chemical work only by the cleaner's label") == 1
    assert "Chemical work only" not in whole(quiet)
    just_now = whole(replace(quiet, done=(Done(samples.TAKEN, "descaled"),)))
    assert "Acid into water" in just_now and "Chemical work only" not in just_now


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_first_page_names_customer_site_and_unit_after_what_to_do_next(paper: str) -> None:
    report = samples.fouled()
    first = " ".join(PdfReader(BytesIO(visit_report.render(report, paper))).pages[0].extract_text().split())
    line = " ".join(visit_report.identity(report).replace("\u00a0", " ").split())
    assert all(name in line for name in (report.customer, report.site, report.unit))
    assert first.index("What to do next") < first.replace("\u00a0", " ").index(line)


def test_absurd_numbers_are_written_short_and_break_no_page() -> None:
    lines = tuple(
        replace(line, typed_value="1e300", si=si_words("amps_a", 1e300)) for line in samples.fouled().readings
    )
    absurd = replace(
        samples.fouled(), readings=(*lines, ReadingLine("minutes_running", words.number(1e300), "min", ""))
    )
    text = whole(absurd)
    assert "1.00" in text and "0" * 20 not in text
    assert len(words.number(-1e300)) < 16 and len(words.number(3e-300)) < 16
    assert words.number(123456.0) == f"123{words.THIN}456"


def test_the_report_says_which_clean_reference_the_number_stood_on() -> None:
    from dataclasses import replace

    from diagnostics.engine.assessment import assess
    from reporting.documents.verdicts import reference_sentence
    from tests.engine.case import FACTS, LIMIT, TWO_CLEAN, reading

    answer = assess(FACTS, reading(LIMIT), TWO_CLEAN, draws=1000)
    told = reference_sentence(answer).replace("\xa0", " ")
    assert "clean visits of 3 April 2023 and 23 April 2023" in told
    lone = replace(answer, reference=())
    assert "operating table" in reference_sentence(lone)
