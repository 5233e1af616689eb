"""The relations behind the ranking of causes; fault directions of water-cooled machines in the literature."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats
from scipy.special import rel_entr

from diagnostics.engine.assessment import assess
from diagnostics.engine.causes import Background, Earlier, Surface, decided, not_ranked, rank, surface_of
from diagnostics.engine.causes.background import factors
from diagnostics.engine.causes.probability import (
    conditioned,
    expected_information,
    log_density,
    posterior,
)
from diagnostics.engine.causes.residuals import QUANTITIES, observed, quantities
from diagnostics.engine.causes.signatures import Point, point_of, signatures, visit_doubts
from diagnostics.engine.causes.steadiness import settled_part
from diagnostics.engine.records import ExchangerFacts, History, ReadingSet
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.virtual_unit import rated_unit
from tests.engine.causes_case import HEAT_PUMP, WHEN, read_with
from tests.published.sources import published

CHILLER = ExchangerFacts("CH-1", "R134a", "shell_and_tube", capacity_w=300e3)


@published(log_density, source="scipy.stats.multivariate_normal")
def test_the_density_agrees_with_the_reference_library():
    rng = np.random.default_rng(3)
    roots = rng.normal(size=(5, 4, 4))
    covariances = roots @ roots.transpose(0, 2, 1) + 0.1 * np.eye(4)
    points = rng.normal(size=(5, 4))
    expected = [stats.multivariate_normal(cov=c).logpdf(x) for c, x in zip(covariances, points, strict=True)]
    assert log_density(points, covariances) == pytest.approx(expected, rel=1e-9)


@published(
    conditioned, source="Gaussian conditioning by the information form, Bishop (2006) eq. (2.116)-(2.117)"
)
def test_conditioning_agrees_with_the_information_form():
    rng = np.random.default_rng(4)
    mean, link, seen = rng.normal(size=3), rng.normal(size=(2, 3)), rng.normal(size=2)
    covariance, noise = np.diag([1.0, 2.0, 0.5]), np.diag([0.3, 0.2])
    after = np.linalg.inv(np.linalg.inv(covariance) + link.T @ np.linalg.inv(noise) @ link)
    expected = after @ (link.T @ np.linalg.inv(noise) @ seen + np.linalg.inv(covariance) @ mean)
    found = conditioned(mean, covariance, link, seen, noise)
    assert found[0] == pytest.approx(expected)
    assert found[1] == pytest.approx(after)


@published(
    posterior, source="the textbook screening test: 1 % ill, 90 % sensitive, 9 % false alarms (Bayes' rule)"
)
def test_bayes_rule_gives_the_textbooks_nine_per_cent():
    # 0.01 0.9 / (0.01 0.9 + 0.99 0.09) = 0.0917, by hand
    assert posterior(np.array([0.01, 0.99]), np.log([0.9, 0.09]))[0] == pytest.approx(0.0917, abs=5e-5)


@published(
    expected_information,
    source="relative entropy, Cover & Thomas (2006) eq. (2.29), by scipy.special.rel_entr",
)
def test_expected_information_is_the_relative_entropy_of_joint_against_product():
    prior, table = np.array([0.2, 0.3, 0.5]), np.array([[0.9, 0.1], [0.5, 0.5], [0.0, 1.0]])
    joint = prior[:, None] * table
    product = np.outer(prior, joint.sum(axis=0))
    assert expected_information(prior, table) == pytest.approx(rel_entr(joint, product).sum())
    assert expected_information(prior, np.full((3, 2), 0.5)) == pytest.approx(0.0, abs=1e-12)


@published(
    quantities,
    observed,
    source="saturation of R410A by the equation of Lemmon (2003) in CoolProp, differences by hand",
)
def test_superheat_subcooling_and_saturation_follow_from_gauges_and_clamps():
    # R410A: bubble 2425.6 kPa at 40 degC, dew 933.2 kPa at 5 degC; liquid 35 degC, suction line 12 degC
    facts = ExchangerFacts("HP-1", "R410A", "coaxial", capacity_w=12e3)
    read = ReadingSet(
        "HP-1",
        WHEN,
        "cooling",
        entering_water_k=303.15,
        leaving_water_k=308.65,
        head_pressure_pa=2425.64e3,
        suction_pressure_pa=933.18e3,
        liquid_line_k=308.15,
        suction_line_k=285.15,
    )
    seen = observed(facts, read, rated_unit(facts), instrument_table())
    found = dict(zip(seen.names, seen.values, strict=True))
    assert found["head"] == pytest.approx(313.15, abs=0.05)
    assert found["suction"] == pytest.approx(278.15, abs=0.05)
    assert found["subcooling"] == pytest.approx(5.0, abs=0.05)
    assert found["superheat"] == pytest.approx(7.0, abs=0.05)
    assert found["water_change"] == pytest.approx(5.5)
    assert "flow" not in found and "power" not in found


DIRECTIONS = [
    # condenser water flow: Comstock & Braun (1999), reduced condenser water flow
    ("water_flow_low", "head", 1),
    ("water_flow_low", "water_change", 1),
    ("water_flow_low", "power", 1),
    # condenser fouling: Comstock & Braun (1999)
    ("exchanger_fouled", "head", 1),
    ("exchanger_fouled", "power", 1),
    ("exchanger_fouled", "discharge", 1),
    # refrigerant charge: Comstock & Braun (1999), Breuker & Braun (1998)
    ("overcharged", "head", 1),
    ("overcharged", "subcooling", 1),
    ("undercharged", "subcooling", -1),
    ("undercharged", "head", -1),
    # non-condensables: Comstock & Braun (1999)
    ("non_condensables", "head", 1),
    ("non_condensables", "power", 1),
    # liquid-line restriction: Breuker & Braun (1998)
    ("metering_restricted", "suction", -1),
    ("metering_restricted", "superheat", 1),
    # compressor valve leakage: Breuker & Braun (1998)
    ("compressor_weak", "suction", 1),
    ("compressor_weak", "head", -1),
    # evaporator side fouling or flow: Breuker & Braun (1998), Comstock & Braun (1999)
    ("air_side_fault", "suction", -1),
]


@published(
    signatures,
    source="Breuker & Braun (1998) and Comstock & Braun (1999), fault directions from memory",
)
@pytest.mark.parametrize("facts", [HEAT_PUMP, CHILLER], ids=["heat pump", "chiller"])
@pytest.mark.parametrize(("cause", "quantity", "sign"), DIRECTIONS)
def test_signatures_move_as_the_literature_found(facts, cause, quantity, sign):
    found = signatures(facts, Point("cooling", "full", 303.0, 300.0, 292.0))
    curve = next(one for one in found.curves if one.causes == (cause,))
    plain = curve.severities.index(min(curve.severities, key=lambda s: abs(s[0] - 2.0)))
    shift = curve.means[plain, QUANTITIES.index(quantity)] - found.clean[QUANTITIES.index(quantity)]
    assert sign * shift > 0


@published(rank, source="common practice: high head with normal flow in cooling points to the exchanger")
def test_high_head_in_cooling_with_strainer_and_flow_cleared_points_to_the_exchanger():
    found = rank(HEAT_PUMP, read_with("exchanger_fouled", strainer="clean", fault_lockout="high_head"))
    assert found.causes[0]["cause"] == "exchanger_fouled"


@published(
    rank, source="common practice: low suction or water temperature trips in heating point to the exchanger"
)
@pytest.mark.parametrize("lockout", ["low_suction", "low_water_temperature"])
def test_low_side_trips_in_heating_with_strainer_and_flow_cleared_point_to_the_exchanger(lockout):
    read = read_with("exchanger_fouled", mode="heating", strainer="clean", fault_lockout=lockout)
    assert rank(HEAT_PUMP, read).causes[0]["cause"] == "exchanger_fouled"


@published(visit_doubts, point_of, source="common practice: what is not read is as usual, and doubted more")
def test_a_reading_without_air_is_taken_at_usual_air_with_more_doubt():
    read = ReadingSet("HP-1", WHEN, "cooling", entering_water_k=303.2)
    measured = ReadingSet("HP-1", WHEN, "cooling", entering_water_k=303.2, entering_air_k=300.0)
    unit = rated_unit(HEAT_PUMP)
    assert point_of(read) == Point("cooling", "full", 303.0, 300.0, 292.0)
    assert visit_doubts(unit, read)[1] > visit_doubts(unit, measured)[1]


@published(
    factors, source="common practice: fouling grows, a blockage comes at once; Langelier (1936) for the sign"
)
def test_an_approach_that_grew_speaks_for_fouling_and_one_that_jumped_against():
    grown = factors(Background((Earlier(180.0, 2.0),), 3.5))
    jumped = factors(Background((Earlier(90.0, 0.1),), 3.5))
    assert grown["exchanger_fouled"] > 1.0 > jumped["exchanger_fouled"]
    assert jumped["strainer_blocked"] > 1.0 and factors(Background()) == {}
    assert factors(Background(saturation_index=1.5))["exchanger_fouled"] > 1.0
    assert factors(Background(saturation_index=-0.5))["exchanger_fouled"] < 1.0


@published(
    decided, source="common practice: strainer first; contradicting readings again; no acid within the limit"
)
def test_one_place_decides_easy_before_intrusive_and_no_acid_within_the_limit():
    read = read_with("exchanger_fouled", strainer="clean", back_flush="no_change")
    alone = rank(HEAT_PUMP, read, prior={"exchanger_fouled": 1.0})
    assert alone.why_not_chemical is None
    fouled = Surface("fouled", 0.97, None, "Plan a chemical descale")
    within = Surface(
        "clean", 0.03, None, "Nothing to do on the water side: the surface is within its fouling limit."
    )
    again = Surface("undecided", None, "head_below_suction", "Read the head pressure again.")
    assert decided(alone, fouled, read) == alone == decided(alone, None, read)
    assert decided(alone, within, read).do_next == within.do_next
    assert decided(alone, within, read).why_not_chemical
    assert decided(alone, again, read).do_next == again.do_next
    assert decided(alone, again, read).why_not_chemical
    dirty = decided(alone, fouled, read_with("exchanger_fouled", strainer="dirty"))
    assert dirty.do_next.startswith("Clean the strainer") and dirty.why_not_chemical


@published(surface_of, not_ranked, source="common practice: what cannot be judged is read again first")
def test_what_cannot_be_judged_or_computed_is_read_again_first():
    crossed = ReadingSet(
        "HP-1", WHEN, "cooling", minutes_running=20.0, entering_water_k=303.15, leaving_water_k=308.15,
        head_pressure_pa=0.9e6, suction_pressure_pa=1.2e6, liquid_line_k=305.0, water_flow_kg_per_s=0.5,
    )  # fmt: skip
    told = surface_of(assess(HEAT_PUMP, crossed, History()))
    assert told.cannot_be_judged == "head_below_suction" and told.probability_over_limit is None
    nothing = not_ranked(HEAT_PUMP, History(), crossed, "too large")
    assert nothing.why_not_chemical and "too large" in nothing.why_not_chemical
    assert sum(one["probability"] for one in nothing.causes) == pytest.approx(1.0, abs=1e-4)


@published(
    settled_part,
    source="common practice: readings count from ten minutes of steady running and where a second set "
    "minutes later agrees; a trip before that is evidence, not a measurement",
)
def test_before_the_machine_stands_steady_only_findings_lockout_and_entering_water_are_evidence():
    read = read_with("exchanger_fouled", minutes_running=10.0, strainer="clean", fault_lockout="high_head")
    assert settled_part(read, ()) == read
    early = settled_part(replace(read, minutes_running=9.0), ())
    kept = (early.strainer, early.fault_lockout, early.entering_water_k)
    assert kept == ("clean", "high_head", read.entering_water_k)
    assert early.head_pressure_pa is None and early.leaving_water_k is None
    minutes_before = replace(read, taken_at=read.taken_at - timedelta(minutes=4))
    assert settled_part(read, (minutes_before,)) == read
    warmer = replace(minutes_before, entering_water_k=read.entering_water_k - 0.5)
    assert settled_part(read, (warmer,)).head_pressure_pa is None
