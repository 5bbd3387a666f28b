"""A result or a refusal as plain lines for a terminal: verdict first, then what made it, then the leading figures."""

from collections.abc import Mapping
from typing import Any

from engineering.core.contract.refusal import SpecificationRefused
from engineering.core.contract.units import QUANTITIES, format_number

_WORD = {"pass": "holds", "fail": "FAILS", "review": "REVIEW", "caution": "caution", "not applicable": "-"}
_VERDICT = {
    "pass": "PASS: every check holds.",
    "fail": "FAIL: the piece must not be made as described.",
    "review": "REVIEW: nothing fails, but an engineer must judge what is marked.",
}
_LEADING = (
    "weight",
    "batch.volume",
    "moment.service_max",
    "moment.factored_max",
    "moment.design",
    "crown.transfer",
    "crown.final",
    "deflection.live",
    "deflection.long",
    "uplift.factor",
    "handling.factor",
    "load_test.first_crack",
    "load_test.peak",
)
_LEADING_OF_A_ROD = ("jacking_stress", "torque", "elongation", "nut_turns", "force_transfer", "force_final", "length")


def refusal_lines(refused: SpecificationRefused) -> list[str]:
    count = len(refused.faults)
    faults = "1 fault" if count == 1 else f"{count} faults"
    return [f"REFUSED: {faults}, nothing was checked.", *(f"  {fault}" for fault in refused.faults)]


def result_lines(result: Mapping[str, Any]) -> list[str]:
    """Every line of the report of one result document; `unit` is that of places along the piece."""
    unit = QUANTITIES["length"].unit(result["units"])
    lines = [f"{result['mark']}   {_VERDICT[result['verdict']]}"]
    lines += [f"engine {result['engine']}   {result['specification']}", "", *_check_lines(result["checks"], unit)]
    lines += ["", "Figures", *_figure_lines(result["figures"], unit)]
    return [*lines, "", "Read this with it", *(f"  * {caution}" for caution in result["cautions"])]


def _check_lines(checks: list[Mapping[str, Any]], unit: str) -> list[str]:
    """One line per check that applies, and the names of those that do not."""
    applying = [check for check in checks if check["verdict"] != "not applicable"]
    width = max((len(check["name"]) for check in applying), default=0)
    lines = ["Checks"]
    for check in applying:
        lines.append(
            f"  {_WORD[check['verdict']]:8}{check['name']:{width}}  {_share(check)}  {_values(check, unit)}".rstrip()
        )
        lines += [f"{'':10}{text}" for text in (check["why"], check["caution"]) if text and check["verdict"] != "pass"]
    idle = [check["name"] for check in checks if check["verdict"] == "not applicable"]
    return lines + ([f"  not applicable: {', '.join(idle)}"] if idle else [])


def _share(check: Mapping[str, Any]) -> str:
    return "    -" if check["ratio"] is None else f"{check['ratio']:5.2f}"


def _values(check: Mapping[str, Any], unit: str) -> str:
    if check["demand"] is None or check["capacity"] is None:
        return ""
    place = "" if check["at"] is None else f" at {format_number(check['at'])} {unit}"
    return f"{format_number(check['demand'])} of {format_number(check['capacity'])} {check['unit']}".rstrip() + place


def _figure_lines(figures: Mapping[str, Mapping[str, Any]], unit: str) -> list[str]:
    marks = [name.split(".")[1] for name in figures if name.startswith("rod.") and name.endswith(".jacking_stress")]
    names = [*_LEADING, *(f"rod.{mark}.{leaf}" for mark in marks for leaf in _LEADING_OF_A_ROD)]
    return [_figure_line(name, figures[name], unit) for name in names if name in figures]


def _figure_line(name: str, figure: Mapping[str, Any], unit: str) -> str:
    value = figure["value"]
    if value is None:
        return f"  {name:28} none: {figure['why']}"
    place = "" if figure["at"] is None else f"  at {format_number(figure['at'])} {unit}"
    return f"  {name:28} {value if isinstance(value, str) else format_number(value)} {figure['unit']}{place}".rstrip()
