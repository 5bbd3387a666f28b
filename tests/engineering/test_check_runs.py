"""The row is the job: claimed once, landed once, put back when its worker is gone, and never without a word."""

import time
from datetime import timedelta

import pytest
from django.utils import timezone
from kombu.exceptions import OperationalError

import engineering.actions
from engineering import leases, tasks
from engineering.core.contract.refusal import Fault, SpecificationRefused
from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, JobStatus, Specification
from engineering.queries import latest_run
from tests.factories import document

pytestmark = pytest.mark.django_db
RESULT = {"verdict": "review", "figures": {}, "checks": []}


@pytest.fixture
def run() -> CheckRun:
    specification = engineering.actions.accept(document())
    return specification.check_runs.get()


@pytest.fixture
def engine(monkeypatch):
    """Stands in for the engine: answers what the test sets."""
    answers = {"result": RESULT, "raises": None, "calls": 0}

    def run_checks(given):
        answers["calls"] += 1
        if answers["raises"]:
            raise answers["raises"]
        return answers["result"]

    monkeypatch.setattr(tasks, "run_checks", run_checks)
    return answers


def expire(run: CheckRun) -> None:
    CheckRun.objects.filter(pk=run.pk).update(lease_until=timezone.now() - timedelta(seconds=1))


def test_a_refused_document_leaves_nothing_behind():
    with pytest.raises(SpecificationRefused, match="length"):
        engineering.actions.accept(document(length=-1))
    assert not Specification.objects.exists()
    assert not CheckRun.objects.exists()


def test_an_accepted_document_is_stored_as_sent_with_a_run_that_waits(run):
    assert run.specification.document == document()
    assert run.specification.sha256.startswith("sha256:")
    assert (run.status, run.engine_version, run.attempts, run.result) == (JobStatus.WAITING, ENGINE_VERSION, 0, None)


def test_a_message_that_comes_twice_runs_the_checks_once(run, engine):
    tasks.perform_check_run(run.pk)
    tasks.perform_check_run(run.pk)
    run.refresh_from_db()
    assert engine["calls"] == 1
    assert (run.status, run.verdict, run.result, run.attempts) == (JobStatus.DONE, "review", RESULT, 1)
    assert run.finished_at is not None
    assert run.lease_until is None


def test_only_one_of_two_claims_gets_the_row(run):
    first, second = leases.claim(run.pk), leases.claim(run.pk)
    assert first is not None
    assert second is None


def test_an_engine_that_raises_leaves_a_plain_reason_and_no_traceback(run, engine):
    engine["raises"] = ZeroDivisionError("the section\nhas no depth")
    tasks.perform_check_run(run.pk)
    run.refresh_from_db()
    assert run.status == JobStatus.BROKEN
    assert run.problem.startswith("The engine stopped on this piece (ZeroDivisionError: the section has no depth).")
    assert "Traceback" not in run.problem
    assert (run.result, run.verdict) == (None, "")


def test_a_specification_the_engine_no_longer_accepts_is_said_in_words(run, engine):
    engine["raises"] = SpecificationRefused((Fault("rods[0].grade", "not known"),))
    tasks.perform_check_run(run.pk)
    run.refresh_from_db()
    assert run.problem == "The engine no longer accepts this specification: rods[0].grade: not known"


@pytest.mark.parametrize("result", [{"verdict": "excellent"}, {}, None, {"verdict": "pass", "figures": {1, 2}}])
def test_a_result_that_is_none_breaks_the_run_instead_of_being_half_written(run, engine, result):
    engine["result"] = result
    tasks.perform_check_run(run.pk)
    run.refresh_from_db()
    assert (run.status, run.verdict, run.result) == (JobStatus.BROKEN, "", None)
    assert run.problem.startswith("The engine stopped on this piece (")


def test_the_result_of_a_late_worker_does_not_land(run):
    late = leases.claim(run.pk)
    expire(run)
    leases.put_back()
    second = leases.claim(run.pk)
    assert leases.finish(late, RESULT) is False
    run.refresh_from_db()
    assert (run.status, run.claim, run.result) == (JobStatus.RUNNING, second.claim, None)
    assert leases.finish(second, RESULT) is True


def test_a_late_worker_cannot_break_what_another_finished(run):
    late = leases.claim(run.pk)
    expire(run)
    leases.put_back()
    leases.finish(leases.claim(run.pk), RESULT)
    assert leases.break_off(late, "late") is False
    run.refresh_from_db()
    assert (run.status, run.problem) == (JobStatus.DONE, "")


def test_a_lease_that_still_runs_is_left_alone(run):
    claimed = leases.claim(run.pk)
    leases.put_back()
    run.refresh_from_db()
    assert (run.status, run.claim) == (JobStatus.RUNNING, claimed.claim)


def test_a_lease_from_before_the_clock_was_set_back_is_given_up(run):
    assert leases.claim(run.pk)
    CheckRun.objects.filter(pk=run.pk).update(lease_until=timezone.now() + timedelta(hours=1))
    leases.put_back()
    run.refresh_from_db()
    assert (run.status, run.claim) == (JobStatus.WAITING, "")


def test_a_process_that_owns_the_database_ends_what_the_last_one_held(run):
    assert leases.claim(run.pk)
    assert leases.end_all() == 1
    leases.put_back()
    run.refresh_from_db()
    assert (run.status, run.attempts) == (JobStatus.WAITING, 1)


def test_every_table_of_jobs_is_known():
    assert {kind.__name__ for kind in leases.tables_of_jobs()} >= {"CheckRun", "Study", "IssuedRecord"}


def test_a_sweep_sends_a_bounded_number_again(run, monkeypatch):
    monkeypatch.setattr(leases, "AT_ONCE", 2)
    for _ in range(3):
        engineering.actions.accept(document())
    assert leases.waiting_ids() == sorted(CheckRun.objects.values_list("pk", flat=True))[:2]


@pytest.mark.django_db(transaction=True)
class TestHeld:
    """A job longer than its lease keeps it for as long as its worker lives, and no longer."""

    @pytest.fixture(autouse=True)
    def quick(self, monkeypatch):
        monkeypatch.setattr(leases, "LEASE", timedelta(seconds=0.6))
        monkeypatch.setattr(leases, "RENEW_EVERY_S", 0.1)

    def test_a_long_job_keeps_its_row(self, run):
        claimed = leases.claim(run.pk)
        with leases.held(claimed):
            for _ in range(10):
                time.sleep(0.2)
                leases.put_back()
        assert leases.finish(claimed, RESULT)

    def test_a_job_that_hangs_for_good_is_let_go(self, run):
        claimed = leases.claim(run.pk)
        with leases.held(claimed, longest_s=0.3):
            time.sleep(1.5)
            leases.put_back()
        assert not leases.finish(claimed, RESULT)

    def test_a_worker_that_lost_the_row_does_not_take_it_back(self, run):
        first = leases.claim(run.pk)
        CheckRun.objects.filter(pk=run.pk).update(lease_until=None)
        leases.put_back()
        second = leases.claim(run.pk)
        with leases.held(first):
            time.sleep(0.5)
        run.refresh_from_db()
        assert run.claim == second.claim


def test_a_run_whose_worker_dies_three_times_is_broken_with_a_reason(run):
    for _ in range(leases.ATTEMPTS):
        assert leases.claim(run.pk) is not None
        expire(run)
        leases.put_back()
    run.refresh_from_db()
    assert (run.status, run.attempts, run.problem) == (JobStatus.BROKEN, 3, leases.LOST)
    assert leases.claim(run.pk) is None


def test_a_run_for_another_engine_is_not_claimed_and_does_not_wait_for_ever(run):
    CheckRun.objects.filter(pk=run.pk).update(engine_version="0.0.1")
    assert leases.claim(run.pk) is None
    leases.put_back()
    run.refresh_from_db()
    assert (run.status, run.problem) == (JobStatus.BROKEN, leases.OTHER_ENGINE)


def test_the_sweeper_finishes_what_a_lost_message_left(run, engine, monkeypatch):
    monkeypatch.setattr(tasks.perform_check_run, "nudge", lambda pk: tasks.perform_check_run(pk) or True)
    tasks.nudge_runs()
    run.refresh_from_db()
    assert run.status == JobStatus.DONE


def test_a_broker_that_is_down_loses_nothing(run, engine, monkeypatch):
    def down(*args, **kwargs):
        raise OperationalError("connection refused")

    monkeypatch.setattr(tasks.perform_check_run, "delay", down)
    tasks.nudge_runs()
    run.refresh_from_db()
    assert (run.status, run.attempts) == (JobStatus.WAITING, 0)


@pytest.mark.django_db(transaction=True)
def test_saving_while_the_broker_is_down_still_saves(monkeypatch):
    def down(*args, **kwargs):
        raise OperationalError("connection refused")

    monkeypatch.setattr(tasks.perform_check_run, "delay", down)
    specification = engineering.actions.accept(document())
    assert specification.check_runs.get().status == JobStatus.WAITING


@pytest.mark.django_db(transaction=True)
def test_the_message_is_sent_only_once_the_row_is_there_to_be_found(monkeypatch):
    found = []
    monkeypatch.setattr(
        tasks.perform_check_run, "delay", lambda pk: found.append(CheckRun.objects.filter(pk=pk).exists())
    )
    engineering.actions.accept(document())
    assert found == [True]


def test_a_broken_run_is_asked_for_again_on_its_own_row(run, engine):
    engine["raises"] = RuntimeError("no")
    tasks.perform_check_run(run.pk)
    again = engineering.actions.ask_again(run.specification)
    assert (again.pk, again.status, again.attempts, again.problem) == (run.pk, JobStatus.WAITING, 0, "")


def test_a_new_engine_gets_a_row_of_its_own_and_the_old_result_stays(run, engine):
    tasks.perform_check_run(run.pk)
    CheckRun.objects.filter(pk=run.pk).update(engine_version="0.0.1")
    again = engineering.actions.ask_again(run.specification)
    run.refresh_from_db()
    assert again.pk != run.pk
    assert (run.status, run.result, run.is_current) == (JobStatus.DONE, RESULT, False)
    assert latest_run(run.specification) == again


@pytest.mark.parametrize("finish", [False, True])
def test_a_run_that_is_done_or_under_way_is_not_asked_for_twice(run, engine, finish):
    if finish:
        tasks.perform_check_run(run.pk)
    assert engineering.actions.ask_again(run.specification) is None
    assert CheckRun.objects.count() == 1


def test_a_specification_is_never_deleted(run):
    with pytest.raises(TypeError, match="never deleted"):
        run.specification.delete()
