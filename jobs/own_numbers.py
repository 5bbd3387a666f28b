"""The shop's own estimates beside what a specification assumes, for the same rod, lubricant, concrete and mix.

Offered, with spread and number, for a person to put into the form. Nothing is ever put in by itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from typing import Any

from engineering.core.contract import Piece, SpecificationRefused, parse
from engineering.core.contract.units import QUANTITIES
from engineering.core.strength_gain import fit_strength_curve
from jobs import curing, learning
from jobs.models import Mix, Pour

LEAST = 5  # readings or tests before an estimate may be put into a form
DIGITS = 3
NOTHING = 1e-9  # what is left of a sum of equal numbers


@dataclass(frozen=True)
class Offer:
    """One assumption and what the records say of it, in the document's units. `why_not`: why it cannot be put in, or
    "".
    """

    path: str  # of the field in the document
    label: str
    of: str  # which rods, concrete or mix the records are of
    assumed: float
    value: float  # what the form would get
    spread: str  # in words
    number: int
    unit: str
    why_not: str = ""

    @property
    def stands(self) -> bool:
        """The form has it already."""
        return math.isclose(self.assumed, self.value, rel_tol=1e-9)


def offers(document: Any) -> list[Offer]:
    """In the order of the form; none while the entries make no piece."""
    try:
        piece = parse(document)
    except SpecificationRefused:
        return []
    found = (_modulus(piece, document), _age(piece, document), _nut_factor(piece))
    return [offer for offer in found if offer is not None]


def taken(document: Any, paths: Iterable[str]) -> list[dict[str, Any]]:
    """Of the fields that somebody put in from the records, those that still hold the estimate: for the event."""
    wanted = set(paths)
    return [asdict(offer) for offer in offers(document) if offer.path in wanted and offer.stands] if wanted else []


def _nut_factor(piece: Piece) -> Offer | None:
    if piece.stressing is None:
        return None
    names = {learning.rod_name(rod) for rod in piece.rods}
    said = _of(learning.nut_factors, names)
    if said is None:
        return None
    mean, why = _rounded(said.found.mean), _too_few(said.found.number)
    if len(names) > 1:
        why = "The rods are of more than one kind, and the specification has one nut factor for all."
    return Offer(
        "stressing.nut_factor",
        "Nut factor K",
        said.of,
        piece.stressing.nut_factor,
        mean,
        _deviation(said.found.variation, mean),
        said.found.number,
        "",
        why,
    )


def _modulus(piece: Piece, document: Any) -> Offer | None:
    said = _of(learning.moduli, {learning.concrete_name(piece.concrete)})
    if said is None or not piece.rods:
        return None
    units, quantity = document.get("units", "us"), QUANTITIES["modulus"]
    mean = _rounded(quantity.from_us(said.found.mean, units))
    return Offer(
        "concrete.modulus_at_stressing",
        "Modulus at stressing",
        said.of,
        quantity.from_us(piece.concrete.modulus_at_stressing_psi, units),
        mean,
        _deviation(said.found.variation, mean),
        said.found.number,
        quantity.unit(units),
        _too_few(said.found.number),
    )


def _age(piece: Piece, document: Any) -> Offer | None:
    """By the mix of the concrete: the age at which the curve, less its scatter, has the strength."""
    if piece.stressing is None or not piece.concrete.label:
        return None
    mix = _mix_of(piece.concrete.label)
    tests = curing.aged_tests(curing.tests_of_mix(mix))
    try:
        curve = fit_strength_curve(tests)
    except ValueError:
        return None
    needed, age = piece.concrete.strength_at_stressing_psi, piece.stressing.age_days
    units, stress = document.get("units", "us"), QUANTITIES["stress"]

    def shown(psi: float) -> str:
        return f"{_rounded(stress.from_us(psi, units)):g}"

    ready = curve.age_days(needed + curve.scatter_psi)
    why = _too_few(len(tests))
    if ready is None or not curve.is_tested(ready):
        why, ready = f"The curve does not reach {shown(needed)} {stress.unit(units)} within the ages tested.", age
    at_age = f"{shown(curve.strength_psi(age))} ± {shown(curve.scatter_psi)} {stress.unit(units)} at {age:g} days"
    words = at_age if curve.is_tested(age) else f"no tests at {age:g} days"
    return Offer(
        "stressing.age", "Age at stressing", f"mix {mix}", age, math.ceil(ready * 2) / 2, words, len(tests), "days", why
    )


def _mix_of(label: str) -> Mix | None:
    """The mix of that name, or else the one that was last poured into a piece whose drawing has that concrete."""
    named = Mix.objects.filter(name__iexact=label).first()
    drawn = {"pieces__revision__specification__document__concrete__label": label}
    last = Pour.objects.filter(mix__isnull=False, **drawn).select_related("mix").order_by("-at").first()
    return named or (last.mix if last else None)


def _of(records: Callable[[], list[learning.Learned]], names: set[str]) -> learning.Learned | None:
    """The estimate of the first of the names that has records."""
    return next((said for said in records() if said.of in names), None)


def _deviation(variation: float | None, mean: float) -> str:
    return "spread not known from one" if variation is None else f"± {_rounded(variation * mean):g}"


def _too_few(number: int) -> str:
    if number >= LEAST:
        return ""
    return f"{'One says' if number == 1 else f'{number} of them say'} too little; {LEAST} are needed."


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}") if abs(value) > NOTHING else 0.0
