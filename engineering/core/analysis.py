"""`analyse(batch) -> Analysis`: every shared quantity, once, in written order."""

from engineering.core.quantities import Analysis

__all__ = ["Analysis"]
