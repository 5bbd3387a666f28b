"""A number or an array of numbers: plain formulas work on either, element by element, and give back what they were
given."""

from typing import Any

Elementwise = Any
