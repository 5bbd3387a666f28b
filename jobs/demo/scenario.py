"""The story of the demo shop: what was ordered, and how far each piece has come."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from django.utils import timezone

from engineering.models import CheckRun, JobStatus
from engineering.queries import described_piece, latest_run
from engineering.tasks import perform_check_run
from jobs import stages, targets
from jobs.actions import designs as design_actions
from jobs.actions import orders, pieces, production, shop, stock
from jobs.demo import designs
from jobs.demo.people import Crew
from jobs.load_tests import load_for
from jobs.models import CouponTest, Design, Mix, Order, Piece, Pour, Stage, Stressing, Wrench

SPECIMENS_PSI = (5350.0, 5520.0, 5440.0)  # cylinders at stressing age; 5,000 psi is the most that is asked for


def play(crew: Crew) -> None:
    """Everything that happened so far, in its order."""
    story = Story(crew)
    story.open_shop()
    library = story.order("2611-01", "Quillmark Reading Rooms", "Tollgate Street, hall 2", 16)
    counters = story.design(library, designs.counter("C-104", "Issue counter, east wall"), 3)
    shelves = story.design(library, designs.shelf(), 2)
    canteen = story.order("2611-02", "Brindlecombe Canteen", "Works yard, building C", 9)
    bars = story.design(canteen, designs.bar(), 2, load_test=True)
    aprons = story.design(canteen, designs.apron(), 2)
    ferry = story.order("2612-01", "Ostermoor Ferry Hall", "Pier head", 30)
    benches = story.design(ferry, designs.bench(), 3)
    story.design(ferry, designs.soft_rod_bench(), 1)
    housing = story.order("2612-02", "Velden Row Housing", "Block 4, garden stair", 44)
    treads = story.design(housing, designs.tread(), 2)
    unlifted = story.design(housing, designs.unlifted_counter(), 1)
    story.run_checks()

    for passed in (counters, shelves, bars, aprons, benches):
        story.release(passed)
    story.bring(treads, 1, Stage.DESIGNED)
    story.bring(unlifted, 1, Stage.DESIGNED)
    for design, reached in (
        (counters, (Stage.FINISHED, Stage.CURING, Stage.POURED)),
        (shelves, (Stage.STRIPPED,)),
        (bars, (Stage.LOAD_TESTED, Stage.STRESSED)),
        (aprons, (Stage.DELIVERED, Stage.FORMED)),
        (benches, (Stage.INSTALLED,)),
    ):
        for serial, stage in enumerate(reached, start=1):
            story.bring(design, serial, stage)
    pieces.hold(
        story.piece(shelves, 2), by=crew.crew, reason="The form's end board is chipped; a new one is being cut."
    )
    story.bring(benches, 2, Stage.STRIPPED)
    pieces.reject(story.piece(benches, 2), by=crew.manager, reason="Corner broken off while stripping.")
    pieces.remake(story.piece(benches, 2), by=crew.manager)
    story.bring(benches, 3, Stage.RELEASED)
BAG_LBF = 50.0


class Story:
    """Who does what, with the shop's mix and wrench at hand."""

    mix: Mix
    wrench: Wrench

    def __init__(self, crew: Crew) -> None:
        self.crew = crew
        self.batches = 40

    def open_shop(self) -> None:
        manager = self.crew.manager
        shop.edit_shop(
            by=manager,
            name="Marlpit Lane Castworks (made up)",
            address="1 Marlpit Lane, Exampleton",
            contact="office@marlpit.example",
        )
        self.mix = shop.save_mix(by=manager, name="House mix", description="1:1 sand and binder, 3 % fibre by weight")
        today = timezone.localdate()
        self.wrench = shop.save_wrench(
            by=manager,
            name="Wrench 2, 20 to 150 lbf·ft",
            certificate="TW-0206",
            calibrated_until=today + timedelta(days=190),
        )
        shop.save_wrench(
            by=manager, name="Wrench 1, old", certificate="TW-0113", calibrated_until=today - timedelta(days=24)
        )

        for lot, description in (("H-2207", "1/2-13 UNC A193 B7"), ("H-2311", "5/8-11 UNC A193 B7")):
            stock.save_lot(by=manager, kind="rod", lot=lot, description=description, certificate=f"{lot}, made up")

    def order(self, number: str, client: str, site: str, due_in_days: int) -> Order:
        return orders.create_order(
            self.crew.manager,
            number=number,
            client=client,
            site=site,
            due_date=timezone.localdate() + timedelta(days=due_in_days),
        )

    def design(self, order: Order, document: dict[str, Any], count: int, *, load_test: bool = False) -> Design:
        return design_actions.create_design(
            order,
            by=self.crew.manager,
            document=document,
            title=document["title"],
            pieces=count,
            load_test_required=load_test,
        )

    def run_checks(self) -> None:
        """Do the waiting runs here and now, as the worker would a moment later."""
        for run_id in CheckRun.objects.filter(status=JobStatus.WAITING).values_list("pk", flat=True):
            perform_check_run(run_id)

    def release(self, design: Design) -> None:
        design_actions.release(
            design.revisions.get(number=1), by=self.crew.engineer, note="Reviewed with the client's layout."
        )

    def piece(self, design: Design, serial: int) -> Piece:
        return Piece.objects.select_related("design__order", "revision__specification", "pour").get(
            design=design, serial=serial
        )

    def bring(self, design: Design, serial: int, stage: Stage) -> None:
        """Take a piece, stage by stage and by every gate, to where it is."""
        while (piece := self.piece(design, serial)).stage != stage:
            to_stage = self._next(piece)
            self._write_down(piece, to_stage)
            piece = self.piece(design, serial)
            if piece.stage != to_stage:
                pieces.move(piece, to_stage, by=self.crew.manager)

    def _next(self, piece: Piece) -> Stage:
        ways = [
            stage
            for stage in stages.MOVES[Stage(piece.stage)]
            if stage != Stage.DESIGNED or piece.stage == Stage.ORDERED
        ]
        wanted = Stage.LOAD_TESTED if piece.design.load_test_required else Stage.FINISHED
        return wanted if wanted in ways else ways[0]

    def _write_down(self, piece: Piece, to_stage: Stage) -> None:
        """What the next gate asks for, if anything."""
        crew = self.crew.crew
        if to_stage == Stage.POURED:
            production.record_form_check(piece, by=crew, core_held=True, sleeves_sealed=True, pockets_set=True)
            self._pour([piece])
        elif to_stage == Stage.STRIPPED:
            assert piece.pour is not None  # noqa: S101  it was poured two stages ago
            production.record_strength_test(piece.pour, by=crew, kind="cylinder", specimens_psi=SPECIMENS_PSI)
        elif to_stage == Stage.STRESSED:
            self._stress(piece)
        elif to_stage == Stage.FINISHED:
            production.record_finishing(piece, by=crew, tails_cut=True, capped=True, greased=True, pockets_filled=True)
        elif to_stage == Stage.LOAD_TESTED:
            self._load_test(piece)
        elif to_stage == Stage.INSTALLED:
            assert piece.revision is not None  # noqa: S101  it was released long ago
            production.record_installation(
                piece, by=crew, supports_in=self._supports_in(piece), cautions_confirmed=True
            )

    def _load_test(self, piece: Piece) -> None:
        """Four layers of bags, up to what the drawing asks for, left there for an hour and read twice."""
        assert piece.revision is not None  # noqa: S101  it was released long ago
        run = latest_run(piece.revision.specification)
        assert run is not None  # noqa: S101  and checked before that
        load, crew, now = load_for(described_piece(piece.revision.specification), run), self.crew.crew, timezone.now()
        number = math.ceil(load.to_put_on_lbf / 4 / BAG_LBF)
        places = ("along the middle", "left third", "right third", "along the middle")
        layers = [{"number": number, "where": where} for where in places]
        plan = production.plan_load_test(
            piece, by=crew, what="sand bags", unit_lbf=BAG_LBF, layers=layers, hold_minutes=60
        )
        for share, hours_ago in ((0.25, 4.0), (0.5, 3.5), (0.75, 3.0), (1.0, 2.5), (1.0, 1.0)):
            production.record_load_reading(
                plan,
                by=crew,
                load_lbf=share * 4 * number * BAG_LBF,
                deflection_in=round(1.1 * _predicted_in(run, share * 4 * number * BAG_LBF), 3),
                nobody_under=True,
                at=now - timedelta(hours=hours_ago),
            )
        production.conclude_load_test(plan, by=crew)

    def _pour(self, poured: Sequence[Piece]) -> Pour:
        self.batches += 1
        made = production.record_pour(
            poured,
            by=self.crew.crew,
            batch=f"26-{self.batches:03}",
            mix=self.mix,
            slump_in=7.5,
            unit_weight_pcf=128.4,
            mix_temperature_f=71,
            air_temperature_f=66,
        )
        if not CouponTest.objects.filter(pour__mix=self.mix).exists():
            self._break_coupons(made)
        return made

    def _break_coupons(self, pour: Pour) -> None:
        """Six coupons of the mix, 10 × 2 × 0.5 in: its flexural strengths are what the specifications count on."""
        broken = [
            {"yield_lbf": psi / 20, "ultimate_lbf": psi / 10, "span_in": 10, "width_in": 2, "depth_in": 0.5}
            for psi in (1090, 1130, 1110, 1080, 1120, 1100)
        ]
        production.record_coupon_test(pour, by=self.crew.crew, specimens=broken)

    def _supports_in(self, piece: Piece) -> list[float]:
        """Measured on site: an eighth of an inch off where the drawing has them."""
        assert piece.revision is not None  # noqa: S101  it was released long ago
        return [support.at_in + 0.125 for support in described_piece(piece.revision.specification).supports]

    def _stress(self, piece: Piece) -> Stressing:
        """Every turn in its order, the stretch read a little differently from its target each time."""
        by = self.crew.crew
        stressing = production.start_stressing(piece, by=by, wrench=self.wrench, gauge_resolution_in=0.0005)
        plan = targets.turns(stressing.targets)
        for number, (rod, step) in enumerate(plan):
            aim = targets.target_at(stressing.targets, (rod, step))
            off = 1 + 0.01 * (number % 5 - 2)
            production.record_reading(
                stressing,
                by=by,
                rod=rod,
                step=step,
                line_clear=True,
                torque_lbf_ft=round(aim["torque_lbf_ft"], 1),
                elongation_in=round(aim["elongation_in"] * off, 3),
                crown_in=stressing.targets["crown"]["transfer_in"] if number == len(plan) - 1 else None,
            )
        return production.finish_stressing(stressing, by=by)


def _predicted_in(run: CheckRun, load_lbf: float) -> float:
    """The deflection that the engine's curve has at a load, between its points. [in]"""
    curve = (run.result or {})["series"]["load_test.curve"]
    points = list(zip(curve["x"], curve["y"], strict=True))
    (x0, y0), (x1, y1) = next(pair for pair in itertools.pairwise(points) if pair[1][1] >= load_lbf)
    return float(x0 + (x1 - x0) * (load_lbf - y0) / (y1 - y0))
