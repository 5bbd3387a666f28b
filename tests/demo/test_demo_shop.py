"""The demo shop is loaded whole, by the site's own actions, and only once. One load takes seconds: few tests."""

import pytest
from django.contrib.auth import authenticate

from engineering.models import CheckRun
from jobs import demo, event_chain
from jobs.models import Event, Order, Piece, Role, Stage

pytestmark = pytest.mark.django_db


@pytest.fixture
def loaded(settings, tmp_path):
    settings.DATA = tmp_path
    return demo.load()


def test_every_stage_and_every_verdict_by_the_engine_and_everybody_signs_in(loaded, rf):
    results = {run.specification.mark: run.result for run in CheckRun.objects.select_related("specification")}
    failed = [check["name"] for check in results["B-08"]["checks"] if check["verdict"] == "fail"]
    assert set(Piece.objects.values_list("stage", flat=True)) == set(Stage.values)
    assert Order.objects.count() == 4
    assert {mark: result["verdict"] for mark, result in results.items() if result["verdict"] != "pass"} == {
        "B-08": "fail",
        "R-3": "review",
    }
    assert failed, "the bench with soft rod is there to fail"
    assert all(name.startswith("rod force left") for name in failed)
    assert list(event_chain.faults()) == []
    assert len(loaded) == len(Role)
    for line in loaded:
        username, password = line.split()[-2:]
        assert authenticate(request=rf.post("/"), username=username, password=password) is not None, line


def test_a_second_load_changes_nothing(loaded):
    before = (Piece.objects.count(), Event.objects.count(), CheckRun.objects.count())
    assert demo.load() == loaded
    assert (Piece.objects.count(), Event.objects.count(), CheckRun.objects.count()) == before
