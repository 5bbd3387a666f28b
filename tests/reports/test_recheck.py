"""A record carries its own evidence, and running it again tells what agrees."""

from __future__ import annotations

import io
import json
from copy import deepcopy
from pathlib import Path

import pytest
from django.core.management import call_command
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from engineering.core.pipeline import run_checks
from reports import signing
from reports.design_record import build_design_record
from reports.evidence import RESULT, SPECIFICATION, NoEvidence
from reports.recheck import recheck
from reports.verification import NotReadable
from tests.reports.documents import example
from tests.reports.issuing import facts

DOCUMENT = example("04-bar-cantilever")


@pytest.fixture(scope="module")
def result() -> dict:
    return run_checks(DOCUMENT)


def with_evidence(document: dict, result: dict) -> bytes:
    unsigned = build_design_record(facts(DOCUMENT))
    evidence = {SPECIFICATION: json.dumps(document).encode(), RESULT: json.dumps(result).encode()}
    return signing.sign(unsigned.data, shop="S", reason="r", engineer_field=None, evidence=evidence)


def run(data: bytes, tmp_path: Path, *words: str) -> tuple[int, str]:
    file, out = tmp_path / "record.pdf", io.StringIO()
    file.write_bytes(data)
    with pytest.raises(SystemExit) as ended:
        call_command("recheck", str(file), *words, stdout=out, stderr=out)
    return int(ended.value.code or 0), out.getvalue()


def test_every_figure_check_and_curve_agrees_with_the_same_engine(result, tmp_path):
    status, said = run(with_evidence(DOCUMENT, result), tmp_path)
    assert status == 0
    assert "DIFFERS" not in said
    for name in result["figures"]:
        assert f"agrees   figure {name}:" in said
    for check in result["checks"]:
        assert f"agrees   check {check['name']}, demand" in said
    for name in result["series"]:
        assert f"agrees   curve {name}:" in said


def test_one_changed_figure_is_named_and_no_other(result, tmp_path):
    changed = deepcopy(result)
    changed["figures"]["weight"]["value"] *= 1.000001
    status, said = run(with_evidence(DOCUMENT, changed), tmp_path, "--differences")
    assert status == 1
    assert [line.split(":")[0] for line in said.splitlines() if line.startswith("DIFFERS")] == [
        "DIFFERS  figure weight"
    ]
    assert "1 differ" in said


def test_a_figure_left_out_or_put_in_is_named(result):
    changed = deepcopy(result)
    changed["figures"]["invented"] = changed["figures"].pop("weight")
    names = {each.name for each in recheck(with_evidence(DOCUMENT, changed)).compared if not each.agrees}
    assert names == {"figure weight", "figure invented"}


def test_another_specification_beside_the_result_is_told(result, tmp_path):
    other = DOCUMENT | {"title": "another"}
    status, said = run(with_evidence(other, result), tmp_path)
    assert status == 1
    assert "OF ANOTHER SPECIFICATION" in said


def test_what_is_appended_after_signing_does_not_count(result):
    data = with_evidence(DOCUMENT, result)
    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    writer.root["/Names"]["/EmbeddedFiles"]["/Names"].clear()
    writer.update_container(writer.root["/Names"]["/EmbeddedFiles"])
    out = io.BytesIO()
    writer.write(out)
    assert recheck(out.getvalue()).agrees


def test_files_with_nothing_to_compare_say_so(tmp_path, result):
    bare = build_design_record(facts(DOCUMENT, result)).data
    with pytest.raises(NoEvidence, match="no specification"):
        recheck(bare)
    with pytest.raises(NotReadable):
        recheck(b"no pdf at all")
    assert run(bare, tmp_path)[0] == 2
    broken = with_evidence({"format": "piece-specification/1"}, result)
    assert run(broken, tmp_path)[0] == 2
    with pytest.raises(NoEvidence, match="no result of the checks"):
        recheck(with_evidence(DOCUMENT, {"verdict": "pass"}))
