"""The two documents: a specification in, a result out."""

from engineering.core.contract.canonical import canonical_hash
from engineering.core.contract.parse import parse
from engineering.core.contract.refusal import Fault, SpecificationRefused

__all__ = ["Fault", "SpecificationRefused", "canonical_hash", "parse"]
