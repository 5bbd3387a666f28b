"""What was written down about one piece, read from its rows once and frozen, for the records that tell of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model

from jobs.models import Event, Installation, Piece, Pour, StrengthTest, Stressing
from reports.after_entries import After, LoadPlan, after_of, load_plans_of
from reports.batch_entries import Batch, batch_of
from reports.models import RecordKind
from reports.noted import Noted, noted, when
from reports.strength_plot import Gain, gain_of


@dataclass(frozen=True)
class Reading:
    at: str
    by: str
    rod: str
    step: int  # from 0
    torque_lbf_ft: float | None
    stretch_in: float | None
    crown_in: float | None
    lift_off_lbf: float | None
    line_clear: bool
    within: bool
    counts: bool  # no later reading of this rod and step, and not taken back
    taken_back: bool  # by a later entry
    takes_back: bool  # this entry is none itself, it takes back the one before
    findings: tuple[str, ...]
    note: str


@dataclass(frozen=True)
class Round:
    """One stressing."""

    began: str
    finished: str
    by: str
    state: str
    wrench: str
    gauge_in: float | None
    targets: dict[str, Any]
    readings: tuple[Reading, ...]
    plotted: tuple[dict[str, Any], ...]  # of those that count, in the order of their making
    note: str

    @property
    def all_within(self) -> bool:
        last = len(self.targets["steps"]) - 1
        ends = {r.rod: r.within for r in self.readings if r.counts and r.step == last}
        return all(ends.get(rod, False) for rod in self.targets["order"])


@dataclass(frozen=True)
class Floor:
    form_check: Noted | None = None
    pour: Noted | None = None
    strengths: tuple[Noted, ...] = ()
    gain: Gain = field(default_factory=Gain)
    rounds: tuple[Round, ...] = ()
    load_tests: tuple[Noted, ...] = ()
    installation: Noted | None = None
    batch: Batch = field(default_factory=Batch)
    after: After = field(default_factory=After)
    load_plans: tuple[LoadPlan, ...] = ()
    rows: tuple[Model, ...] = field(default=(), repr=False)


def floor_of(piece: Piece, kind: str) -> Floor:
    """The entries a record of this kind tells of; the rows behind them in `rows`."""
    rows: list[Model] = []
    wanted = WANTED[RecordKind(kind)]
    form = piece.form_checks.order_by("-recorded_at", "-pk").first() if "form" in wanted else None
    pour = piece.pour if "pour" in wanted else None
    tests = list(pour.strength_tests.order_by("at", "pk")) if pour and "strength" in wanted else []
    rounds = list(piece.stressings.select_related("wrench", "by").order_by("at", "pk")) if "stressing" in wanted else []
    loads = list(piece.load_tests.order_by("at", "pk")) if "load" in wanted else []
    placed = Installation.objects.filter(piece=piece).first() if "install" in wanted else None
    rows += [row for row in (form, pour, *tests, *rounds, *loads, placed) if row is not None]
    stops = _stops(piece) if rounds else {}
    for one in rounds:
        rows += list(one.readings.all())
    rows += stops.values()
    batch = batch_of(piece, pour, with_cure=kind == RecordKind.POUR) if "batch" in wanted else Batch()
    after = after_of(piece, deviations=kind == RecordKind.HANDOVER) if "after" in wanted else After()
    plans, of_plans = load_plans_of(piece) if "plan" in wanted else ((), ())
    rows += [*batch.rows, *after.rows, *of_plans]
    return Floor(
        form_check=noted(form, "core_held", "sleeves_sealed", "pockets_set", "rod_heights") if form else None,
        pour=_pour(pour) if pour else None,
        strengths=tuple(_strength(test) for test in tests),
        gain=gain_of(pour) if "strength" in wanted else Gain(),
        rounds=tuple(_round(one, stops.get(one.pk)) for one in rounds),
        load_tests=tuple(
            noted(t, "load_lbf", "deflection_in", "residual_in", "cracks_seen", "accepted") for t in loads
        ),
        installation=noted(placed, "supports_in", "cautions_confirmed") if placed else None,
        batch=batch,
        after=after,
        load_plans=plans,
        rows=tuple(rows),
    )


WANTED: dict[RecordKind, tuple[str, ...]] = {
    RecordKind.POUR: ("form", "pour", "strength", "batch"),
    RecordKind.STRESSING: ("pour", "strength", "batch", "stressing", "after"),
    RecordKind.LOAD_TEST: ("load", "plan"),
    RecordKind.HANDOVER: ("pour", "strength", "batch", "stressing", "after", "load", "plan", "install"),
    RecordKind.LABEL: ("pour",),
}


def _pour(row: Pour) -> Noted:
    values = {
        "batch": row.batch,
        "mix": row.mix.name if row.mix else "",
        "water_added_at": when(row.water_added_at),
        "slump_in": row.slump_in,
        "unit_weight_pcf": row.unit_weight_pcf,
        "mix_temperature_f": row.mix_temperature_f,
        "air_temperature_f": row.air_temperature_f,
        "pieces": ", ".join(str(piece) for piece in row.pieces.select_related("design").order_by("design", "serial")),
    }
    return Noted(when(row.at), row.by.display_name, values, row.note)


def _strength(row: StrengthTest) -> Noted:
    values = {
        "kind": row.get_kind_display(),
        "factor": row.factor,
        "specimens_psi": list(row.specimens_psi),
        "mean_psi": row.mean_psi,
    }
    return Noted(when(row.at), row.by.display_name, values, row.note)


def _stops(piece: Piece) -> dict[int, Event]:
    """Why rounds were broken off, which only the event log keeps, by round."""
    stopped = Event.objects.filter(piece=piece, verb="stressing-stopped").order_by("sequence")
    return {int(event.detail["stressing"]): event for event in stopped}


def _round(row: Stressing, stop: Event | None) -> Round:
    newest = {reading.pk for reading in row.newest_readings.values()}
    rows = list(row.readings.select_related("by").order_by("recorded_at", "pk"))
    gone = {reading.takes_back_id for reading in rows}
    readings = tuple(
        Reading(
            at=when(r.at),
            by=r.by.display_name,
            rod=r.rod,
            step=r.step,
            torque_lbf_ft=r.torque_lbf_ft,
            stretch_in=r.elongation_in,
            crown_in=r.crown_in,
            lift_off_lbf=r.lift_off_lbf,
            line_clear=r.line_clear,
            within=r.within_tolerance,
            counts=r.pk in newest,
            taken_back=r.pk in gone,
            takes_back=r.takes_back_id is not None,
            findings=tuple(str(text) for text in r.findings),
            note=r.note,
        )
        for r in rows
    )
    wrench = row.wrench
    return Round(
        began=when(row.at),
        finished=when(row.finished_at),
        by=row.by.display_name,
        state=row.get_state_display(),
        wrench=f"{wrench.name}, certificate {wrench.certificate or 'none noted'}, calibrated until "
        f"{wrench.calibrated_until:%Y-%m-%d}"
        if wrench
        else "none noted",
        gauge_in=row.gauge_resolution_in,
        targets=row.targets,
        readings=readings,
        plotted=tuple(readings_in_order(row)),
        note=" ".join(part for part in (row.note, f"Stopped: {stop.detail['reason']}" if stop else "") if part),
    )


def readings_in_order(stressing: Stressing) -> list[dict[str, Any]]:
    """The readings that count, in the order the turns were made."""
    return [
        {
            "rod": reading.rod,
            "step": reading.step,
            "stretch_in": reading.elongation_in,
            "torque_lbf_ft": reading.torque_lbf_ft,
            "crown_in": reading.crown_in,
        }
        for reading in sorted(stressing.newest_readings.values(), key=lambda row: (row.at, row.pk))
    ]
