"""The command that checks one piece from a file: what it prints, and the status it leaves with."""

import io
import json
import sys
from pathlib import Path

import jsonschema
import pytest
from django.core.management import call_command

from engineering.core.pipeline import run_checks

DATA = Path(__file__).parent.parent / "core" / "contract" / "data"
GOOD, BAD = DATA / "accepted" / "06-stair-tread-si.json", DATA / "accepted" / "18-fail-losses-low-yield.json"
REFUSED = DATA / "refused" / "f-rod-outside.json"


@pytest.fixture
def check(capsys):
    """Run the command; what it printed and its exit status."""

    def run(*arguments: str | Path) -> tuple[str, int]:
        with pytest.raises(SystemExit) as left:
            call_command("check_piece", *map(str, arguments))
        return capsys.readouterr().out, left.value.code

    return run


@pytest.mark.parametrize("path", [GOOD, BAD], ids=["good", "bad"])
def test_the_status_follows_the_verdict_and_json_is_the_result(check, path):
    printed, status = check(path, "--json")
    result = json.loads(printed)
    assert result == json.loads(json.dumps(run_checks(json.loads(path.read_text("utf-8")))))
    assert status == {"pass": 0, "review": 1, "fail": 1}[result["verdict"]]


def test_a_failing_piece_says_so_first_and_names_what_fails(check):
    printed, status = check(BAD)
    assert status == 1
    assert printed.splitlines()[0] == "XL-18   FAIL: the piece must not be made as described."
    assert "FAILS   rod force left a" in printed


def test_a_refused_document_lists_its_faults(check):
    printed, status = check(REFUSED)
    assert status == 2
    assert printed.splitlines() == [
        "REFUSED: 1 fault, nothing was checked.",
        "  rods[1].profile[1][1]: 1.7 in lies outside the section, which is 1.5 in deep there",
    ]


def test_a_refused_document_as_json(check):
    printed, status = check(REFUSED, "--json")
    document = json.loads(printed)
    assert status == 2
    assert document["format"] == "check-refusal/1"
    assert [fault["path"] for fault in document["faults"]] == ["rods[1].profile[1][1]"]
    jsonschema.validate(
        document,
        {
            "type": "object",
            "required": ["format", "faults"],
            "additionalProperties": False,
            "properties": {"format": {}, "faults": {"type": "array", "minItems": 1}},
        },
    )


def test_a_file_that_is_not_there_is_refused_with_its_name(check, tmp_path):
    printed, status = check(tmp_path / "nothing.json")
    assert status == 2
    assert "nothing.json cannot be read: no such file or directory" in printed


def test_a_folder_and_a_picture_are_refused(check, tmp_path):
    assert check(tmp_path)[1] == 2
    picture = tmp_path / "piece.json"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n")
    assert "not UTF-8 text" in check(picture)[0]


def test_a_dash_reads_standard_input(check, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(REFUSED.read_bytes()), "utf-8"))
    printed, status = check("-", "--json")
    assert status == 2
    assert json.loads(printed)["faults"][0]["path"] == "rods[1].profile[1][1]"
