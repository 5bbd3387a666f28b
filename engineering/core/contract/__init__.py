"""The two documents: a specification in, a result out."""

from engineering.core.contract.canonical import canonical_hash
from engineering.core.contract.json_text import from_json
from engineering.core.contract.parse import parse
from engineering.core.contract.piece import Piece
from engineering.core.contract.refusal import Fault, SpecificationRefused
from engineering.core.contract.results import CheckResult, Figure, Result, Series, to_json
from engineering.core.contract.schema import schema

__all__ = [
    "CheckResult",
    "Fault",
    "Figure",
    "Piece",
    "Result",
    "Series",
    "SpecificationRefused",
    "canonical_hash",
    "from_json",
    "parse",
    "schema",
    "to_json",
]
