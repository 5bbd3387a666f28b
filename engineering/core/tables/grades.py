"""Grades of rod by name: least yield and ultimate strength, and up to what size.

Yield and ultimate as the specification page lists them; their sources are ASTM F1554, A193/A193M, A307, A449, A615,
SAE J429, ISO 898-1 and ISO 3506-1 as printed by makers (second-hand). A307 gives no yield: 36 ksi is custom.
Elongation is 0.10 for all, the page's own value: the standards' least elongations run from 0.08 to 0.23 (from memory).
"""

from dataclasses import dataclass

from engineering.core.contract.piece import Grade, Thread

KSI = 1000.0
PSI_PER_MPA = 1 / (0.45359237 * 9.80665 / 25.4**2)
GPA = 1000 * PSI_PER_MPA
MM = 1 / 25.4
_ROUNDING_IN = 1e-9

CARBON_MODULUS_PSI, CARBON_MODULUS_METRIC_PSI = 29_000 * KSI, 200 * GPA
STAINLESS_MODULUS_PSI, STAINLESS_MODULUS_METRIC_PSI = 28_000 * KSI, 193 * GPA
DEFAULT_ELONGATION = 0.10


@dataclass(frozen=True)
class Band:
    """Strengths up to and with a nominal size."""

    to_in: float
    yield_psi: float
    ultimate_psi: float


@dataclass(frozen=True)
class GradeEntry:
    bands: tuple[Band, ...]
    stainless: bool = False
    yield_by_custom: bool = False


_ANY_SIZE_IN = 4.0


def _ksi(*bands: tuple[float, float, float], stainless: bool = False, yield_by_custom: bool = False) -> GradeEntry:
    """Bands of (largest size in, yield ksi, ultimate ksi)."""
    return GradeEntry(tuple(Band(to, y * KSI, u * KSI) for to, y, u in bands), stainless, yield_by_custom)


def _mpa(*bands: tuple[float, float, float], stainless: bool = False) -> GradeEntry:
    """Bands of (largest size mm, yield MPa, ultimate MPa)."""
    return GradeEntry(tuple(Band(to * MM, y * PSI_PER_MPA, u * PSI_PER_MPA) for to, y, u in bands), stainless)


_A, _A_MM = _ANY_SIZE_IN, _ANY_SIZE_IN / MM
GRADES: dict[str, GradeEntry] = {
    "A307 A": _ksi((_A, 36, 60), yield_by_custom=True),
    "F1554-36": _ksi((_A, 36, 58)),
    "F1554-55": _ksi((_A, 55, 75)),
    "F1554-105": _ksi((_A, 105, 125)),
    "A193 B7": _ksi((_A, 105, 125)),
    "A193 B8": _ksi((_A, 30, 75), stainless=True),
    "A193 B8M": _ksi((_A, 30, 75), stainless=True),
    "A193 B8 Class 2": _ksi((0.75, 100, 125), (1.0, 80, 115), stainless=True),
    "A449": _ksi((1.0, 92, 120), (_A, 81, 105)),
    "J429-5": _ksi((1.0, 92, 120), (_A, 81, 105)),
    "A615-60": _ksi((_A, 60, 80)),
    "A615-75": _ksi((_A, 75, 100)),
    "J429-2": _ksi((0.75, 57, 74), (_A, 36, 60)),
    "J429-8": _ksi((_A, 130, 150)),
    "4.6": _mpa((_A_MM, 240, 400)),
    "5.6": _mpa((_A_MM, 300, 500)),
    "8.8": _mpa((16, 640, 800), (_A_MM, 660, 830)),
    "10.9": _mpa((_A_MM, 940, 1040)),
    "12.9": _mpa((_A_MM, 1100, 1220)),
    "A2-50": _mpa((_A_MM, 210, 500), stainless=True),
    "A4-50": _mpa((_A_MM, 210, 500), stainless=True),
    "A2-70": _mpa((_A_MM, 450, 700), stainless=True),
    "A4-70": _mpa((_A_MM, 450, 700), stainless=True),
    "A2-80": _mpa((_A_MM, 600, 800), stainless=True),
    "A4-80": _mpa((_A_MM, 600, 800), stainless=True),
}


def modulus_psi(metric: bool, stainless: bool) -> float:
    if stainless:
        return STAINLESS_MODULUS_METRIC_PSI if metric else STAINLESS_MODULUS_PSI
    return CARBON_MODULUS_METRIC_PSI if metric else CARBON_MODULUS_PSI


def find_grade(name: str, thread: Thread) -> Grade | None:
    """The listed grade for a rod of this thread; None where the size is outside its bands. KeyError: no such grade."""
    entry = GRADES[name]
    for band in entry.bands:
        if thread.diameter_in <= band.to_in + _ROUNDING_IN:
            return Grade(
                name,
                band.yield_psi,
                band.ultimate_psi,
                modulus_psi(thread.metric, entry.stainless),
                DEFAULT_ELONGATION,
                True,
                entry.yield_by_custom,
                entry.stainless,
            )
    return None
