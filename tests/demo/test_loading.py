"""Loading the scenario: an interrupted run is gone on with, and nothing is stored twice."""

from pathlib import Path

import pytest

from contractor.demo import loading
from contractor.demo.history import VisitStory
from contractor.demo.loading import Loader
from contractor.demo.scenario import Scenario
from contractor.register.models import Customer
from contractor.visits.models import Reading, Visit
from tests.demo import small


class Interrupted(Exception):
    pass


@pytest.mark.django_db
def test_an_interrupted_run_is_gone_on_with(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    world = Scenario(small.scenario_in(tmp_path / "scenario"))
    loaded: list[str] = []
    whole = Loader.load_visit

    def three_and_a_bit(loader: Loader, story: VisitStory) -> None:
        whole(loader, story)
        if len(loaded) == 3:
            raise Interrupted
        loaded.append(story.key)

    monkeypatch.setattr(Loader, "load_visit", three_and_a_bit)
    with pytest.raises(Interrupted):
        loading.load(world, print)
    assert Visit.objects.count() == 3, "the fourth went back whole"
    before = set(Reading.objects.values_list("pk", flat=True))

    monkeypatch.setattr(Loader, "load_visit", whole)
    told: list[str] = []
    loading.load(world, told.append)
    assert Visit.objects.count() > 10
    assert before < set(Reading.objects.values_list("pk", flat=True))
    readings = Reading.objects.count()
    loading.load(world, told.append)
    assert (Reading.objects.count(), told[-1]) == (
        readings,
        "the scenario is loaded already; nothing is loaded twice",
    )


@pytest.mark.django_db
def test_it_keeps_out_of_a_register_of_somebody_elses(tmp_path: Path) -> None:
    Customer.objects.create(name="Somebody else")
    with pytest.raises(loading.NotTheDemo, match="WATERSIDE_VAR"):
        loading.load(Scenario(small.scenario_in(tmp_path / "scenario")), print)
    assert not Visit.objects.exists()
