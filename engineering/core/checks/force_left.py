"""How much of the rod's force is left at the end of life, and what a crew should know about a soft rod."""

import numpy as np

from engineering.core.batching import NOMINAL
from engineering.core.checks.finding import Finding, Kind, Verdict
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import NO_RODS

CLAUSE = "losses in time by ACI 209R-92 functions and mean strain along the rod (basis e)"
WORTH_SAYING = 0.50  # share lost from which the plain-language line is printed
DAYS_PER_YEAR = 365.25
RETIGHTEN_DAYS = (28, 90)


def rod_force_left(reading: Reading) -> list[Finding]:
    """1 - force_final/force_transfer against 1 - `remaining`; a slack rod fails."""
    if not reading.has_rods:
        return [Finding("rod force left", CLAUSE, Kind.REVIEW, not_applicable=NO_RODS, setting=True)]
    return [_of(reading, number) for number in range(len(reading.piece.rods))]


def _of(reading: Reading, number: int) -> Finding:
    analysis = reading.analysis
    start, end = analysis.tendons.transfer_lbf[:, number], analysis.time.final_lbf[:, number]
    lost = np.where(start > 0, 1.0 - end / np.where(start > 0, start, 1.0), 1.0)
    allowed = 1.0 - reading.piece.criteria.remaining

    def working(v: int, pen: Pen) -> list[str]:
        left = 1.0 - lost[v]
        losses = ", ".join(
            f"{name} {pen(values[v, number], 'stress')}"
            for name, values in (
                ("creep", analysis.time.creep_psi),
                ("shrinkage", analysis.time.shrinkage_psi),
                ("relaxation", analysis.time.relaxation_psi),
            )
        )
        return [
            f"lost from transfer on: {losses}",
            f"left = force at end of life / force at transfer = {pen(end[v], 'force')} / {pen(start[v], 'force')} = "
            f"{pen.number(left)}",
            f"lost share = 1 - left = 1 - {pen.number(left)} = {pen.number(lost[v])}",
            f"allowed = 1 - remaining = 1 - {pen.number(1.0 - allowed)} = {pen.number(allowed)}",
            ratio_line(lost[v], allowed, pen, "number"),
        ]

    floor = np.where(end <= 0, int(Verdict.FAIL), int(Verdict.PASS))
    return Finding(
        f"rod force left {reading.piece.rods[number].mark}",
        CLAUSE,
        Kind.REVIEW,
        "number",
        lost,
        np.full(lost.shape, allowed),
        setting=True,
        floor=floor,
        working=working,
        caution=lambda v, pen: plain_words(reading, number, pen),
        capacity_why="`remaining` allows no loss at all",
    )


def plain_words(reading: Reading, number: int, pen: Pen) -> str:
    """What a soft rod loses, in a sentence, at nominal force; empty where most of it stays."""
    analysis, rod = reading.analysis, reading.piece.rods[number]
    put_in = float(reading.batch.rods.jacking_lbf[NOMINAL, number])
    ages, course = analysis.time.ages_days, analysis.time.force_lbf[NOMINAL, :, number]
    final = float(analysis.time.final_lbf[NOMINAL, number])
    if final > (1.0 - WORTH_SAYING) * float(analysis.tendons.transfer_lbf[NOMINAL, number]):
        return ""
    years = [age for age in (0.5, 1.0, 2.0, 5.0) if age * DAYS_PER_YEAR < ages[-1]]
    near = [age for age in years if np.interp(age * DAYS_PER_YEAR, ages, course) - final <= 0.1 * (put_in - final)]
    after, left = (
        (near[0], float(np.interp(near[0] * DAYS_PER_YEAR, ages, course)))
        if near
        else (ages[-1] / DAYS_PER_YEAR, final)
    )
    stressing = reading.piece.stressing.age_days if reading.piece.stressing else 0.0
    done = reading.piece.stressing.restress_days if reading.piece.stressing else ()
    again = [str(age) for age in RETIGHTEN_DAYS if age > stressing and age not in done]
    cure = "use a stronger rod" + (f" or tighten again at {' and '.join(again)} days" if again else "")
    amount = "nothing is" if left < 0.005 * put_in else f"{pen(left, 'force')} are"
    return (
        f"{rod.mark}: of the {pen(put_in, 'force')} put in, {amount} left after {_years(float(after))}: {cure}. "
        "Shrinkage and creep cost every rod much the same stress, so a rod with a low stress loses most of its force."
    )


def _years(years: float) -> str:
    if years < 1:
        return f"{round(years * 12)} months"
    return "one year" if round(years) == 1 else f"{round(years)} years"
