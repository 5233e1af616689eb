"""States of a descale: one table, its drawing, and who may move it."""

from __future__ import annotations

import pytest
from rest_framework.exceptions import PermissionDenied

from contractor.descales import services
from contractor.descales.models import Descale
from contractor.descales.states import BEFORE_ACID, MOVES, OPEN, OVER, STATES, drawing, move_of
from contractor.http.problems import Problem
from tests.descales import world
from tests.tree import ROOT


def test_developers_md_draws_the_table() -> None:
    assert f"```mermaid\n{drawing()}\n```" in (ROOT / "DEVELOPERS.md").read_text()


def test_every_arrow_joins_known_states_and_every_state_can_be_reached() -> None:
    assert {move.start for move in MOVES} | {move.end for move in MOVES} == set(STATES)
    reached = {"recommended"}
    for _ in STATES:
        reached |= {move.end for move in MOVES if move.start in reached}
    assert reached == set(STATES)
    assert set(OPEN) | set(OVER) == set(STATES) and not set(OPEN) & set(OVER)


def test_acid_can_be_in_from_every_state_for_what_has_happened_is_not_refused() -> None:
    for state in set(STATES) - {"acid_in"}:
        assert move_of(state, "acid_in") or move_of(state, "acid_in", irregular=True), state


def test_no_decision_leads_past_the_customers_yes() -> None:
    """Without the irregular arrows, acid_in is reached through agreed, planned, noticed and checking only."""
    regular = [move for move in MOVES if not move.irregular]
    for without in ("agreed", "planned", "noticed", "checking"):
        reached = {"recommended"}
        for _ in STATES:
            reached |= {m.end for m in regular if m.start in reached and m.end != without}
        assert "acid_in" not in reached, without


@pytest.mark.django_db
def test_the_office_decides_in_turn_and_out_of_turn_is_told_where_it_may_go() -> None:
    job = world.job()
    with pytest.raises(Problem) as refused:
        services.record_consent(job.office, job.descale, {"said_by": "X", "said_at": job.now})
    assert refused.value.kind == "descale-state"
    assert [move["state"] for move in refused.value.more["next"]] == ["priced", "called_off"]
    world.agreed(job)
    assert job.fresh().state == "agreed"


@pytest.mark.django_db
def test_a_technician_names_no_price_and_records_no_consent() -> None:
    job = world.job()
    for service, fields in ((services.state_price, ({"amount": 1, "currency": "EUR"}, job.now)),
                            (services.record_consent, ({"said_by": "X", "said_at": job.now},))):  # fmt: skip
        with pytest.raises(PermissionDenied):
            service(job.technician, job.descale, *fields)
    assert job.fresh().state == "recommended"


@pytest.mark.django_db
def test_once_acid_is_in_there_is_no_calling_off() -> None:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    assert job.fresh().state == "acid_in"
    with pytest.raises(Problem) as refused:
        services.call_off(job.office, job.descale, "changed their mind", job.now)
    assert refused.value.kind == "descale-state"


@pytest.mark.django_db
def test_what_could_not_be_done_becomes_a_recommendation() -> None:
    job = world.noticed(world.job())
    after = services.could_not_do(job.technician, job.descale, "valve_does_not_hold", "supply valve", job.now)
    assert job.fresh().state == "could_not_do"
    assert (after.state, after.instead_of, after.exchanger) == ("recommended", job.descale, job.exchanger)
    again = services.could_not_do(job.technician, job.descale, "valve_does_not_hold", "supply valve", job.now)
    assert again == after
    assert Descale.objects.count() == 2


@pytest.mark.django_db
def test_an_exchanger_has_one_descale_that_is_not_over() -> None:
    job = world.job()
    with pytest.raises(Problem) as refused:
        services.recommend(job.technician, job.exchanger, "again")
    assert "not over yet" in str(refused.value.detail)


@pytest.mark.django_db
@pytest.mark.parametrize("state", BEFORE_ACID)
def test_it_is_called_off_with_a_reason_from_every_state_before_acid(state: str) -> None:
    job = world.job()
    Descale.objects.filter(pk=job.descale.pk).update(state=state)
    with pytest.raises(Problem):
        services.call_off(job.office, job.descale, "  ", job.now)
    assert services.call_off(job.office, job.descale, "site closes", job.now).state == "called_off"
