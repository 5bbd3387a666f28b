"""A result is whole or there is none, and stands in the document's units."""

import math
from dataclasses import replace

import numpy as np
import pytest

from engineering.core.contract import CheckResult, Figure, Result, Series, to_json

CHECK = CheckResult(
    "shear", "ACI 318-19 22.5.6.2", "pass", demand=50.0, capacity=100.0, quantity="stress", ratio=0.5, at_in=10.0
)
RESULT = Result(
    "C-1",
    "si",
    "sha256:00",
    ("ACI 318-19",),
    "pass",
    (CHECK,),
    {
        "weight": Figure(100.0, "force"),
        "batch.volume": Figure(np.float64(1.0), "volume"),
        "moment.service_max": Figure(1000.0, "moment", at_in=20.0),
        "rod.R1.torque": Figure(70.0, "torque"),
        "section.1.inertia": Figure(1.0, "inertia"),
        "load_test.mode": Figure("crushing"),
        "uplift.factor": Figure(None, why="nothing lifts"),
    },
    {
        "stress.transfer.top": Series([0, 10], np.array([-1.0, -2.0]), "stress"),
        "crown_in_time": Series([7, 28], [0.1, 0.2], "length", x_quantity="age"),
    },
)


def test_figures_stand_in_the_documents_units():
    """Factors of NIST SP 811 (2008), appendix B.8, to seven digits."""
    document = to_json(RESULT)
    figures = document["figures"]
    assert figures["weight"]["value"] == pytest.approx(444.8222, rel=3e-7)
    assert figures["batch.volume"]["value"] == pytest.approx(0.02831685, rel=3e-7)
    assert figures["moment.service_max"]["value"] == pytest.approx(112984.8, rel=3e-7)
    assert figures["moment.service_max"]["at"] == pytest.approx(508)
    assert figures["rod.R1.torque"]["value"] == pytest.approx(70 * 1.355818, rel=3e-7)
    assert figures["section.1.inertia"]["value"] == pytest.approx(416231.4, rel=3e-7)
    assert [
        figures[n]["unit"]
        for n in ("weight", "batch.volume", "moment.service_max", "rod.R1.torque", "section.1.inertia")
    ] == ["N", "m³", "N·mm", "N·m", "mm⁴"]
    assert document["series"]["crown_in_time"]["x"] == [7, 28]
    assert document["series"]["stress.transfer.top"]["x"] == [0, pytest.approx(254)]
    assert document["checks"][0]["unit"] == "MPa"


def test_us_units_are_spelled_as_the_page_spells_them():
    figures = to_json(replace(RESULT, units="us"))["figures"]
    assert [
        figures[n]["unit"]
        for n in ("weight", "batch.volume", "moment.service_max", "rod.R1.torque", "section.1.inertia")
    ] == ["lbf", "ft³", "lbf·in", "lbf·ft", "in⁴"]
    assert figures["weight"]["value"] == 100


@pytest.mark.parametrize(
    "broken",
    [
        replace(RESULT, verdict="good"),
        replace(RESULT, figures={"a": Figure(math.nan)}),
        replace(RESULT, figures={"a": Figure(None)}),
        replace(RESULT, figures={"a": Figure(math.inf)}),
        replace(RESULT, checks=(CHECK._replace(ratio=None),)),
        replace(RESULT, checks=(CHECK._replace(verdict="ok"),)),
        replace(RESULT, series={"s": Series([1, 2], [1], "force")}),
    ],
)
def test_a_result_that_is_not_whole_is_no_result(broken):
    with pytest.raises(ValueError, match=r"verdict|finite|why|values"):
        to_json(broken)
