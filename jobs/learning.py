"""What the shop's own records say of the nut factor and of the modulus, with their spread, beside what was assumed.

Shown and offered, never written into a specification by itself.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from engineering.core.contract.piece import Concrete, Rod
from engineering.core.coupons import Spread, spread
from engineering.queries import described_piece
from jobs.models import Stressing, StressingReading
from jobs.rod_forces import forces
from jobs.targets import target_at

MOST_ROUNDS = 500


@dataclass(frozen=True)
class Learned:
    """`assumed`: what the specifications had, as a range of one or two numbers."""

    of: str
    found: Spread
    assumed: tuple[float, float]


def rod_name(rod: Rod) -> str:
    """What makes the nut factor: thread, grade, and what the rod is coated with."""
    return f"{rod.thread.name}, {rod.grade.name}, {rod.coating}"


def concrete_name(concrete: Concrete) -> str:
    return concrete.label or "concrete without a name"


def last_step_readings() -> list[tuple[Stressing, StressingReading]]:
    """The reading that counts of every rod at its last step, of complete rounds, the newest rounds first."""
    rounds = (
        Stressing.objects.filter(state=Stressing.State.COMPLETE)
        .select_related("revision__specification", "piece__design")
        .prefetch_related("readings")
        .order_by("-at")[:MOST_ROUNDS]
    )
    return [
        (row, reading)
        for row in rounds
        for (_, step), reading in row.newest_readings.items()
        if step == len(row.targets["steps"]) - 1
    ]


def nut_factors() -> list[Learned]:
    """By thread, grade and coating: K = K_assumed × (force by torque/force by stretch) of every last reading."""
    found: dict[str, list[float]] = defaultdict(list)
    assumed: dict[str, list[float]] = defaultdict(list)
    drawn: dict[int, tuple[Rod, ...]] = {}
    for row, reading in last_step_readings():
        said = forces(
            target_at(row.targets, (reading.rod, reading.step)),
            row.targets.get("nut_factor"),
            reading.torque_lbf_ft,
            reading.elongation_in,
        )
        if row.revision_id not in drawn:
            drawn[row.revision_id] = described_piece(row.revision.specification).rods
        rod = next((rod for rod in drawn[row.revision_id] if rod.mark == reading.rod), None)
        if said is None or said.nut_factor is None or said.assumed_nut_factor is None or rod is None:
            continue
        name = rod_name(rod)
        found[name].append(said.nut_factor)
        assumed[name].append(said.assumed_nut_factor)
    return _learned(found, assumed)


def moduli() -> list[Learned]:
    """By concrete: the modulus at stressing that would have given the crown that was measured, E_assumed × predicted
    over measured: rods and self weight alike bend an uncracked piece by 1/E. The force of a round is only known within
    its tolerance, and that is in the spread.
    """
    found: dict[str, list[float]] = defaultdict(list)
    assumed: dict[str, list[float]] = defaultdict(list)
    last: dict[int, tuple[Stressing, float]] = {}
    for row, reading in last_step_readings():
        if reading.crown_in is not None:
            last[row.pk] = (row, reading.crown_in)
    for row, crown in last.values():
        predicted = row.targets["crown"]["transfer_in"]
        if crown * predicted <= 0:
            continue  # no crown, or the other way: it says nothing of the modulus
        concrete = described_piece(row.revision.specification).concrete
        name = concrete_name(concrete)
        found[name].append(concrete.modulus_at_stressing_psi * predicted / crown)
        assumed[name].append(concrete.modulus_at_stressing_psi)
    return _learned(found, assumed)


def _learned(found: dict[str, list[float]], assumed: dict[str, list[float]]) -> list[Learned]:
    rows = []
    for name in sorted(found):
        said = spread(found[name])
        if said is not None:
            rows.append(Learned(name, said, (min(assumed[name]), max(assumed[name]))))
    return rows
