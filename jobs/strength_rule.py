"""When specimens prove a strength: at least two, their mean at or over what is needed, none under 0.9 of it.

Cylinders count as broken; cubes times the factor that was stored with them (cylinder strength/cube strength).
"""

from __future__ import annotations

from engineering.core.contract.units import format_quantity
from jobs.models import Pour, StrengthTest
from jobs.words import say

LEAST_SPECIMENS = 2
LEAST_SHARE = 0.9


def newest_test(pour: Pour | None) -> StrengthTest | None:
    """The test that counts: the one broken last. An older one says nothing of the concrete as it is now."""
    if pour is None:
        return None
    return StrengthTest.objects.filter(pour=pour).order_by("-at", "-pk").first()


def shortfalls(test: StrengthTest | None, needed_psi: float, units: str) -> list[str]:
    """What is missing, in words and in the piece's units; empty where the test proves `needed_psi`."""
    needed = _shown(needed_psi, units)
    if test is None:
        return [say("No strength test is recorded for its pour; {needed} are needed.", needed=needed)]
    strengths = test.cylinder_psi
    missing: list[str] = []
    if len(strengths) < LEAST_SPECIMENS:
        missing.append(
            say(
                "Only {strengths} specimen was broken; {LEAST_SPECIMENS} or more have to be broken together.",
                strengths=len(strengths),
                LEAST_SPECIMENS=LEAST_SPECIMENS,
            )
        )
    if test.mean_psi < needed_psi:
        missing.append(
            say(
                "The newest strength test has a mean of {mean_psi}; {needed} are needed.",
                mean_psi=_shown(test.mean_psi, units),
                needed=needed,
            )
        )
    if min(strengths) < LEAST_SHARE * needed_psi:
        missing.append(
            say(
                "The weakest specimen reached {weakest}; none may be under {least} ({LEAST_SHARE} of what is needed).",
                weakest=_shown(min(strengths), units),
                least=_shown(LEAST_SHARE * needed_psi, units),
                LEAST_SHARE=f"{LEAST_SHARE:g}",
            )
        )
    return missing


def _shown(stress_psi: float, units: str) -> str:
    return format_quantity(stress_psi, "stress", units)
