"""Records of a piece and the form drawing: every stored reading in them, each row named with its hash."""

from __future__ import annotations

import io
import json
import re
from datetime import UTC, datetime

import pypdf
import pytest
from django.test import Client
from django.urls import reverse

from engineering import leases
from engineering.core.pipeline import run_checks
from engineering.models import JobStatus
from engineering.queries import latest_run
from jobs import targets
from jobs.actions import production
from jobs.errors import NotAllowed, NotNow
from jobs.models import Design, Event, Piece, Role, Shop, Stage
from reports import actions, building, standing
from reports.evidence import RESULT, ROWS, SPECIFICATION, attached
from reports.models import OF_A_PIECE, IssuedRecord, RecordKind
from reports.sources import row_hash
from reports.verification import read_facts
from reports.words import figure_text, number_text
from tests.factories import check_form, make_design, newest, person, piece_at, pour, read, release, start, strength_test
from tests.page_reading import as_read
from tests.reports.documents import example
from tests.reports.issuing import SITE
from tests.reports.test_design_record import evened, words_of

pytestmark = pytest.mark.django_db
DOCUMENT = example("01-counter-cored")


def checked_design(document: dict | None = None, **fields) -> Design:
    document = document or DOCUMENT
    design = make_design(document=document, verdict=None, **fields)
    run = latest_run(newest(design).specification)
    claimed = leases.claim(run.pk)
    assert leases.finish(claimed, run_checks(document))
    release(design)
    return design


def made(piece: Piece, kind: RecordKind) -> IssuedRecord:
    record = actions.request_piece_record(piece, kind, by=person(), site_address=SITE)
    return built(record)


def built(record: IssuedRecord) -> IssuedRecord:
    if record.status != JobStatus.DONE:
        assert building.build(building.claim(record.pk))
    return IssuedRecord.objects.get(pk=record.pk)


@pytest.fixture
def finished() -> Piece:
    return piece_at(Stage.FINISHED, checked_design(load_test_required=True))


@pytest.mark.parametrize("kind", OF_A_PIECE)
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_each_kind_is_made_signed_and_whole(finished, kind, paper):
    Shop.objects.update_or_create(pk=1, defaults={"name": "Slate & Lime", "document_size": paper})
    record = made(finished, kind)
    data = record.path.read_bytes()
    facts = read_facts(data)
    assert facts.signed_by_the_shop
    assert facts.covers_whole_file
    assert facts.number == record.number
    reader = pypdf.PdfReader(io.BytesIO(data))
    text = words_of(data)
    total = len(reader.pages)
    assert {f"page{n}of{total}" in evened(p.extract_text()) for n, p in enumerate(reader.pages, 1)} == {True}
    for word in (record.number, str(finished), record.specification_hash, f"revision{record.revision.letter}"):
        assert evened(word) in text
    assert reader.metadata.title.startswith(str(finished))
    assert reader.metadata.author == "Slate & Lime"
    wide = {"letter": 612, "a4": 595.2756}[paper]
    assert float(reader.pages[0].mediabox.width) == pytest.approx(wide, abs=0.01)


@pytest.mark.parametrize("kind", OF_A_PIECE)
def test_rows_behind_it_are_named_with_the_hash_of_each(finished, kind):
    record = made(finished, kind)
    text = words_of(record.path.read_bytes())
    assert len(record.sources) >= 3
    for source in record.sources:
        assert source["sha256"] in text
    readings = finished.stressings.get().readings.all()
    named = [s["sha256"] for s in record.sources if s["table"] == "stressing reading"]
    assert named == ([row_hash(r) for r in readings] if kind in ("stressing", "handover") else [])


@pytest.mark.parametrize("kind", list(RecordKind))
def test_the_documents_are_attached_as_they_are_stored(finished, kind):
    revision = finished.revision
    record = (
        made(finished, kind)
        if kind in OF_A_PIECE
        else built(actions.request_record(revision, kind=kind, by=person(), site_address=SITE))
    )
    files = attached(record.path.read_bytes())
    assert sorted(files) == [RESULT, ROWS, SPECIFICATION]
    assert json.loads(files[SPECIFICATION]) == revision.specification.document
    assert json.loads(files[RESULT]) == record.check_run.result
    assert json.loads(files[ROWS]) == record.sources


def test_the_stressing_record_holds_every_reading_even_one_put_right():
    piece = piece_at(Stage.STRIPPED, checked_design())
    stressing = start(piece)
    crew = person(Role.CREW, first_name="Ana", last_name="Brandt")
    turns = targets.turns(stressing.targets)
    read(stressing, *turns[0], crew, elongation_in=0.3131)
    for rod, step in turns:
        read(stressing, rod, step, crew)
    production.finish_stressing(stressing, by=crew)
    record = made(piece, RecordKind.STRESSING)
    text = words_of(record.path.read_bytes())
    for row in stressing.readings.all():
        for value in (row.torque_lbf_ft, row.elongation_in, row.crown_in):
            assert evened(number_text(value)) in text
    assert "0.3131in" in text
    assert text.count("putrightlater") == 1
    assert evened("Every rod within tolerance") in text
    assert "AnaBrandt" in text
    assert evened(stressing.wrench.name) in text
    for mark in stressing.targets["order"]:
        for key in ("torque", "elongation", "force_jacking", "nut_turns"):
            assert evened(figure_text(record.check_run.result["figures"][f"rod.{mark}.{key}"])) in text


def test_a_stopped_stressing_is_not_called_right():
    piece = piece_at(Stage.STRIPPED, checked_design())
    stressing = start(piece)
    read(stressing, *targets.turns(stressing.targets)[0])
    production.stop_stressing(stressing, by=person(Role.CREW), reason="the wrench slipped")
    text = words_of(made(piece, RecordKind.STRESSING).path.read_bytes())
    assert evened("Not every rod is within tolerance") in text
    assert evened("the wrench slipped") in text


def test_nothing_to_tell_is_no_record():
    piece = piece_at(Stage.FORMED, checked_design())
    for kind, words in (
        (RecordKind.STRESSING, "No stressing"),
        (RecordKind.LOAD_TEST, "No load test"),
        (RecordKind.HANDOVER, "No pour"),
    ):
        with pytest.raises(NotNow, match=words):
            actions.request_piece_record(piece, kind, by=person(), site_address=SITE)
    assert evened("Not poured yet") in words_of(made(piece, RecordKind.POUR).path.read_bytes())


def test_the_same_is_not_made_twice_and_news_make_a_new_one():
    piece = piece_at(Stage.POURED, checked_design())
    first = made(piece, RecordKind.POUR)
    assert made(piece, RecordKind.POUR) == first
    strength_test(piece, specimens=(4321.0, 4567.0))
    second = made(piece, RecordKind.POUR)
    assert second != first
    assert standing.superseded_by(first) == f"record {second.number} of the same piece"
    assert standing.superseded_by(second) is None
    assert "4,321psi" in words_of(second.path.read_bytes())


def test_one_whose_rows_changed_meanwhile_is_not_made():
    piece = piece_at(Stage.POURED, checked_design())
    record = actions.request_piece_record(piece, RecordKind.POUR, by=person(), site_address=SITE)
    strength_test(piece)
    with pytest.raises(NotNow, match="has changed since"):
        building.build(building.claim(record.pk))


def test_kinds_of_one_piece_do_not_supersede_each_other(finished):
    records = [made(finished, kind) for kind in OF_A_PIECE]
    assert [standing.superseded_by(r) for r in records] == [None] * len(records)
    assert len({r.number for r in records}) == len(records)


@pytest.mark.parametrize(
    ("role", "allowed"),
    [
        (Role.MANAGER, set(OF_A_PIECE)),
        (Role.CREW, set(OF_A_PIECE) - {RecordKind.HANDOVER}),
        (Role.ENGINEER, set()),
        (Role.VIEWER, set()),
    ],
)
def test_who_may_ask_for_what(finished, role, allowed):
    client = Client()
    who = person(role)
    client.force_login(who)
    page = client.get(reverse("piece_records", args=[finished.pk]))
    assert page.status_code == 200
    shown = set(re.findall(r'name="kind" value="([a-z-]+)"', as_read(page)))
    assert shown == {str(kind) for kind in allowed}
    for kind in OF_A_PIECE:
        answer = client.post(reverse("request_piece_record", args=[finished.pk]), {"kind": kind})
        assert answer.status_code == (302 if kind in allowed else 403)
    asked = Event.objects.filter(verb="record-requested", piece=finished, by=who)
    assert {event.detail["kind"] for event in asked} == {str(kind) for kind in allowed}
    assert client.post(reverse("request_piece_record", args=[finished.pk]), {"kind": "design"}).status_code == 404
    if not allowed:
        with pytest.raises(NotAllowed):
            actions.request_piece_record(finished, RecordKind.LABEL, by=who, site_address=SITE)


def test_the_public_sees_no_page_of_a_piece(finished):
    for name in ("piece_records", "request_piece_record"):
        assert Client().get(reverse(name, args=[finished.pk])).status_code == 302


def test_the_form_drawing_shows_both_ways_round_and_counts_the_parts():
    document = DOCUMENT | {"cast": "face-down"}
    record = built(
        actions.request_record(newest(checked_design(document)), kind=RecordKind.FORM, by=person(), site_address=SITE)
    )
    text = words_of(record.path.read_bytes())
    assert evened("TURNED OVER – AS CAST, FACE DOWN") in text
    assert evened("AS INSTALLED") in text
    for rod in document["rods"]:
        assert evened(figure_text(record.check_run.result["figures"][f"rod.{rod['mark']}.length"])) in text
    assert evened(figure_text(record.check_run.result["figures"]["batch.volume"])) in text
    upright = built(
        actions.request_record(newest(checked_design()), kind=RecordKind.FORM, by=person(), site_address=SITE)
    )
    assert ("TURNEDOVER" in words_of(upright.path.read_bytes())) == (DOCUMENT.get("cast") == "face-down")


def test_the_handover_record_says_what_must_never_be_done(finished):
    text = words_of(made(finished, RecordKind.HANDOVER).path.read_bytes())
    for words in ("Never cut, drill", "Here and nowhere else", "For the client", "Whom to ask", "mean as cylinders"):
        assert evened(words) in text


def test_the_pour_ticket_shows_the_heights_measured():
    piece = piece_at(Stage.FORMED, checked_design())
    check_form(piece, rod_heights=[{"rod": "R1", "x_in": 48, "drawn_in": 1.5, "measured_in": 1.5625}])
    pour(piece)
    text = words_of(made(Piece.objects.get(pk=piece.pk), RecordKind.POUR).path.read_bytes())
    assert "1.562in" in text or "1.563in" in text
    assert evened(Piece.objects.get(pk=piece.pk).pour.batch) in text


def test_two_builds_of_the_same_rows_give_the_same_bytes(finished):
    record = actions.request_piece_record(finished, RecordKind.STRESSING, by=person(), site_address=SITE)
    IssuedRecord.objects.filter(pk=record.pk).update(created_at=datetime(2026, 11, 25, 15, tzinfo=UTC))
    facts = building.facts_of(IssuedRecord.objects.get(pk=record.pk))
    build = building.BUILDERS[RecordKind.STRESSING]
    assert build(facts).data == build(facts).data
