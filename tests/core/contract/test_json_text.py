import json

import pytest

from engineering.core.contract import SpecificationRefused, from_json


def refused(text):
    with pytest.raises(SpecificationRefused) as caught:
        from_json(text)
    return {fault.path: fault.message for fault in caught.value.faults}


def test_malformed_json_is_refused_with_its_place():
    assert refused('{\n "mark": "A",\n "length" 96}') == {"": "not JSON: line 3, column 11: expecting ':' delimiter"}


def test_bytes_that_are_no_utf_8_are_refused():
    assert "byte 12 cannot be read" in refused(b'{"title": "\xff"}')[""]


def test_a_byte_order_mark_is_no_fault():
    assert from_json(b'\xef\xbb\xbf{"a": 1}') == {"a": 1} == from_json('\ufeff{"a": 1}')


@pytest.mark.parametrize("text", ["", "  \n", b""])
def test_an_empty_text_is_refused(text):
    assert "empty" in refused(text)[""]


def test_a_key_given_twice_is_refused_with_its_path_and_the_other_faults(counter):
    text = (
        json.dumps(counter).replace('"thread":', '"across": 3, "thread":', 1).replace('"length": 96', '"length": "x"')
    )
    faults = refused(text)
    assert faults["rods[0].across"] == "is given twice; every key should be given once"
    assert set(faults) == {"rods[0].across", "length"}


@pytest.mark.parametrize("depth", [900, 5_000, 200_000])
def test_a_deep_text_is_refused_or_read_but_never_crashes(depth):
    text = '{"zones": ' + "[" * depth + "]" * depth + "}"
    try:
        said = list(from_json(text))
    except SpecificationRefused as problem:
        said = [str(problem)]
    assert said in (["zones"], ["lists and objects lie too deep inside one another"])


def test_numbers_beyond_a_double_come_through_for_the_parser_to_name(counter, faults_of):
    for number in ("1e400", "9" * 5000, "NaN", "-Infinity"):
        text = json.dumps(counter).replace('"length": 96', f'"length": {number}')
        assert list(faults_of(from_json(text))) == ["length"]


def test_a_very_large_text_is_refused():
    assert "larger than 4 MB" in refused(" " * 4_000_001)[""]
