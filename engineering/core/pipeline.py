"""One piece through the whole engine: a specification document in, a result document out.

The result is a function of the document and the engine's version alone. Every check of `CHECKS` gives at least one
line, or the run raises: a result is never partial.
"""

from typing import Any

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from engineering.core.cautions import cautions_of
from engineering.core.checks import CHECKS, Finding, Reading
from engineering.core.checks.finding import Verdict, check_results
from engineering.core.checks.pen import Pen
from engineering.core.contract import CheckResult, Piece, Result, parse, to_json
from engineering.core.contract.results import result_of
from engineering.core.figures import figures
from engineering.core.load_to_failure import load_test
from engineering.core.load_to_failure_figures import load_test_figures
from engineering.core.series import series

BASIS = (
    "ACI 318-19: 5.3, 14.5, 19.2, 20.3, 21.2, 22.2-22.5, 24.2, 24.5, 25.9, 26.10",
    "AASHTO LRFD 5.6.3.1.2 (stress of unbonded tendons)",
    "ACI 209R-92 (creep and shrinkage in time)",
    "PCI MNL-128 (strength of fibre concrete; from memory)",
    "ASTM C947 (limit of proportionality, modulus of rupture)",
    "ASME B1.1, ISO 898-1, ISO 965-1, FED-STD-H28 (threads)",
    "engineering judgement where a check says so, as the shop's settings",
)


def run_checks(document: dict[str, Any]) -> dict[str, Any]:
    """The result document of a specification document. Raises SpecificationRefused with every fault."""
    return to_json(check_piece(parse(document)))


def check_piece(piece: Piece) -> Result:
    """All checks of a piece in five variants, its figures, curves and cautions."""
    reading = Reading(analyse(Batch.check_run(piece)))
    checks = check_results(findings(reading), reading.batch.names, Pen(piece.units))
    test = load_test(reading)
    found, curves = load_test_figures(test)
    return result_of(
        piece,
        basis=BASIS,
        verdict=verdict_of(piece, checks),
        checks=checks,
        figures={**figures(reading), **found},
        series={**series(reading.analysis), **curves},
        cautions=cautions_of(piece, checks),
    )


def findings(reading: Reading) -> list[Finding]:
    """Every check in report order, each at least once. Raises ValueError where a check stays silent or misnames
    itself."""
    found: list[Finding] = []
    for name, check in CHECKS:
        here = check(reading)
        if not here or any(not one.name.startswith(name) for one in here):
            raise ValueError(f"{name}: a check must answer, under its own name")
        found += here
    return found


def verdict_of(piece: Piece, checks: tuple[CheckResult, ...]) -> str:
    """fail before review before pass; a defaulted modulus or handling that is not described leaves it at review at
    best."""
    verdicts = {check.verdict for check in checks}
    if Verdict.FAIL.word in verdicts:
        return "fail"
    if Verdict.REVIEW.word in verdicts or piece.concrete.modulus_defaulted or piece.handling is None:
        return "review"
    return "pass"
