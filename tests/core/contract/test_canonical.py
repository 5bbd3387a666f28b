"""RFC 8785: numbers as ECMAScript writes them, keys by UTF-16, no white space; and the hash made of it."""

import hashlib
import json
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engineering.core.contract import canonical_hash
from engineering.core.contract.canonical import canonical_json, canonical_number

# RFC 8785 appendix B: IEEE 754 bits and the number as JSON.
APPENDIX_B = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "text"), APPENDIX_B)
def test_numbers_of_the_standard(bits, text):
    """Source: RFC 8785 (2020), appendix B, all finite samples. Exact."""
    assert canonical_number(struct.unpack(">d", bytes.fromhex(bits))[0]) == text


def test_the_standards_object():
    """Source: RFC 8785 (2020), 3.2.2 and 3.2.4: the sample object and its bytes. Exact."""
    given_text = (
        '{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],'
        ' "string": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/", "literals": [null, true, false]}'
    )
    expected = bytes.fromhex(
        "7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72"
        "73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32"
        "2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c"
        "5c 5c 5c 22 2f 22 7d"
    )
    assert canonical_json(json.loads(given_text)) == expected


def test_keys_are_sorted_by_utf_16_units():
    """Source: RFC 8785 (2020), 3.2.3: the sample keys and the order of their values. Exact."""
    document = json.loads(
        '{"\\u20ac": "Euro Sign", "\\r": "Carriage Return", "\\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",'
        ' "\\ud83d\\ude00": "Emoji: Grinning Face", "\\u0080": "Control",'
        ' "\\u00f6": "Latin Small Letter O With Diaeresis"}'
    )
    assert list(json.loads(canonical_json(document)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_reads_back_as_itself(number):
    assert float(canonical_number(number)) == number


def test_the_hash_is_of_the_document_as_given(counter, accepted):
    """By hand: sha256 over the keys sorted, no white space; every number of this document is short."""
    document = {"b": 1.0, "a": [0.5, "x"]}
    assert canonical_hash(document) == "sha256:" + hashlib.sha256(b'{"a":[0.5,"x"],"b":1}').hexdigest()
    del counter["criteria"]["life"]
    assert canonical_hash(counter) != canonical_hash(accepted["01-counter-cored"])


def test_order_and_writing_do_not_change_the_hash(counter):
    turned = dict(reversed(counter.items()))
    turned["length"] = 96.0
    assert canonical_hash(turned) == canonical_hash(counter)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), object()])
def test_what_json_cannot_say_has_no_hash(value):
    with pytest.raises(ValueError, match=r"no such number|not JSON"):
        canonical_hash({"a": value})
