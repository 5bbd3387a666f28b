"""The text of each record against the rows behind it: every figure of every row stands in it, in US and in SI units.

Which figures a row has is read from its columns, so one that is added to a table fails here until a record shows it or
the lists below say where it stands instead.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import pypdf
import pytest
from django.db import models

from engineering.core.contract.units import QUANTITIES
from jobs import targets
from jobs.actions import production
from jobs.models import Piece, Role, Stage
from reports.drawing.lengths import length_text
from reports.entries import floor_of
from reports.models import OF_A_PIECE, IssuedRecord, RecordKind
from reports.sources import row_hash, sources_of
from reports.words import number_text
from tests.factories import person, piece_at, read, start
from tests.reports.test_design_record import evened, words_of
from tests.reports.test_piece_records import checked_design, made
from tests.reports.whole_piece import described, whole_piece

pytestmark = pytest.mark.django_db
# By the ending of a name, longest first: what the figure is.
ENDINGS = {
    "_lbf_ft": "torque",
    "_lbf": "force",
    "_psi": "stress",
    "_pcf": "density",
    "_ft3": "volume",
    "_in": "length",
    "_days": "age",
    "_lb": "mass",
    "_f": "temperature",
}
SHARES = ("waste", "fibre_share")
# Not figures of their own: places in a list, or (targets) shown at each reading as step × target and tested apart.
NO_FIGURES = {"step", "targets"}
# What a record of that kind sums up, and the record that has it all.
SUMMED_UP = {
    ("handover", "stressing reading"): "stressing",
    ("handover", "stressing"): "stressing",
    ("handover", "load test reading"): "load-test",
    ("handover", "load test plan"): "load-test",
    ("handover", "batch ticket"): "pour",
    ("handover", "pour"): "pour",
    ("stressing", "pour"): "pour",
    ("stressing", "batch ticket"): "pour",
    ("label", "pour"): "pour",
}


def figures_of(name: str, value: Any) -> Iterator[tuple[str, float]]:
    """Each number in a column, by the name nearest to it."""
    if name in NO_FIGURES or isinstance(value, bool) or value is None:
        return
    if isinstance(value, int | float):
        yield name, value
    elif isinstance(value, dict):
        for key, inside in value.items():
            yield from figures_of(_nearest(name, key, value), inside)
    elif isinstance(value, list) and name == "readings":  # of a temperature log: its extremes stand for it
        degrees = [figure for _, figure in value]
        yield "readings_f", min(degrees)
        yield "readings_f", max(degrees)
    elif isinstance(value, list):
        for inside in value:
            yield from figures_of(name, inside)


def _nearest(name: str, key: str, row: dict[str, Any]) -> str:
    """A re-stressing's target is of the kind of what was read."""
    if key == "target":
        return next(other for other in row if other not in ("rod", "target"))
    return key


def columns(row: models.Model) -> Iterator[tuple[str, float]]:
    for field in row._meta.concrete_fields:
        if isinstance(field, models.FloatField | models.JSONField) or field.name == "hold_minutes":
            yield from figures_of(field.name, getattr(row, field.name))


def said(name: str, value: float, units: str) -> str:
    """As the page should have it; by the house's own table of units, and the definition of the pound."""
    if name == "supports_in":  # as read on a tape
        return length_text(value, units)
    kind = next((kind for ending, kind in ENDINGS.items() if name.endswith(ending)), None)
    if name in SHARES:
        return f"{number_text(100 * value)} %"
    if kind == "mass":
        return f"{number_text(value)} lb" if units == "us" else f"{number_text(value * 0.45359237)} kg"
    if kind == "temperature":
        return f"{number_text(value)} °F" if units == "us" else f"{number_text((value - 32) / 1.8)} °C"
    if kind is None:
        return number_text(value)
    return f"{number_text(QUANTITIES[kind].from_us(value, units))} {QUANTITIES[kind].unit(units)}"


def spaced(record: IssuedRecord) -> str:
    """All text of the file, a cell or a line to a line of its own."""
    reader = pypdf.PdfReader(io.BytesIO(record.path.read_bytes()))
    return "\n".join(page.extract_text() for page in reader.pages)


def stands(words: str, text: str) -> bool:
    """Whole: 0.1 in is not there because 10.1 in is, nor 12 because 125 is."""
    whole = r"\s*".join(re.escape(word) for word in words.split())
    return re.search(rf"(?<![\d.,]){whole}(?![\d.,]*\d)", text) is not None


def missing(record: IssuedRecord, piece: Piece) -> list[str]:
    """Figures of the rows behind the record that its text does not have."""
    text = spaced(record)
    units = record.revision.specification.document["units"]
    found = []
    for row in floor_of(piece, record.kind).rows:
        table = str(row._meta.verbose_name)
        if (record.kind, table) in SUMMED_UP or table == "event":
            continue
        for name, value in columns(row):
            if not stands(said(name, value, units), text):
                found.append(f"{table} {row.pk}: {name} {said(name, value, units)}")
    return found


@pytest.fixture(params=["01-counter-cored", "06-stair-tread-si"])
def whole(request) -> Piece:
    return whole_piece(request.param)


def test_every_figure_of_every_row_stands_in_the_record(whole):
    tables: set[tuple[str, str]] = set()
    for kind in OF_A_PIECE:
        record = made(whole, kind)
        assert missing(record, whole) == []
        tables |= {(str(kind), source["table"]) for source in record.sources}
    # And what is summed up in one record is whole in another.
    for (kind, table), other in SUMMED_UP.items():
        assert (kind, table) in tables
        assert (other, table) in tables
        assert (other, table) not in SUMMED_UP


def test_the_search_for_figures_can_fail(whole):
    record = made(whole, RecordKind.POUR)
    test = whole.pour.strength_tests.order_by("pk").first()
    assert evened("7,310 psi") in words_of(record.path.read_bytes()) or evened("50.4 MPa") in words_of(
        record.path.read_bytes()
    )
    test.specimens_psi = [1234.0]
    test.save()
    assert len(missing(record, whole)) == 1


def test_readings_stand_beside_step_times_target(whole):
    text = words_of(made(whole, RecordKind.STRESSING).path.read_bytes())
    stressing = whole.stressings.get()
    units = stressing.targets["units"]
    for reading in stressing.readings.all():
        aim, step = stressing.targets["rods"][reading.rod], stressing.targets["steps"][reading.step]
        for name in ("torque_lbf_ft", "elongation_in"):
            assert evened(said(name, aim[name] * step, units)) in text


def test_what_a_handover_sums_up_is_as_stored(whole):
    text = words_of(made(whole, RecordKind.HANDOVER).path.read_bytes())
    units = whole.revision.specification.document["units"]
    ticket, plan, test = whole.pour.ticket, whole.load_test_plans.get(), whole.load_tests.get()
    last = whole.stressings.get().readings.order_by("recorded_at").last()
    for name, value in (
        ("ratio", ticket.water_to_cementitious),
        ("fibre_share", ticket.fibre_share),
        ("total_lbf", plan.total_lbf),
        ("load_lbf", test.load_lbf),
        ("deflection_in", test.deflection_in),
        ("crown_in", last.crown_in),
    ):
        assert evened(said(name, value, units)) in text
    for words in ("a chip at the back edge", "Use as is. cosmetic", "Ruth Okafor", "HEAT-4471", "grey grout", "B-77"):
        assert evened(words) in text


def test_people_notes_wrench_and_lots_are_named(whole):
    pour = words_of(made(whole, RecordKind.POUR).path.read_bytes())
    for words in ("C-881", "sand was damp", "no lumps", "one spacer moved", "wetted again", "MTR 90-12", "logger 3"):
        assert evened(words) in pour
    stressing = words_of(made(whole, RecordKind.STRESSING).path.read_bytes())
    for words in ("Torque wrench 5", "CAL-2026-118", "grey grout", "Ana Brandt"):
        assert evened(words) in stressing
    assert re.search(r"tailscut.*capped.*greased", stressing)


@pytest.mark.parametrize("kind", OF_A_PIECE)
def test_each_row_is_named_with_its_hash_and_the_hash_is_of_what_stands_there(kind):
    whole = whole_piece("01-counter-cored")
    record = made(whole, kind)
    text = words_of(record.path.read_bytes())
    rows = floor_of(whole, kind).rows
    assert record.sources == sources_of(record.revision, record.check_run, rows)
    for row, source in zip(rows, record.sources[2:], strict=True):
        assert source == {"table": str(row._meta.verbose_name), "row": row.pk, "sha256": row_hash(row)}
        assert source["sha256"] in text


def test_a_reading_taken_back_stays_in_the_record_and_does_not_count():
    piece = piece_at(Stage.STRIPPED, checked_design(described("01-counter-cored")))
    stressing = start(piece)
    crew = person(Role.CREW)
    rod, step = targets.turns(stressing.targets)[0]
    wrong = read(stressing, rod, step, crew, elongation_in=0.0777)
    production.take_back_reading(stressing, by=crew, reading=wrong.pk, reason="read off the other rod")
    for turn in targets.turns(stressing.targets):
        read(stressing, *turn, crew)
    production.finish_stressing(stressing, by=crew)
    text = words_of(made(piece, RecordKind.STRESSING).path.read_bytes())
    assert evened("0.0777 in") in text
    assert evened("Taken back: read off the other rod") in text
    assert text.count("takenback") == 1
    assert "putrightlater" not in text
    assert evened("Every rod within tolerance") in text
