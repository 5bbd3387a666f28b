"""The trade's words as this book uses them. Common usage; no definition of a code is replaced by these."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Word:
    name: str
    means: str

    @property
    def anchor(self) -> str:
        return "word-" + "-".join("".join(c if c.isalnum() else " " for c in self.name.lower()).split())


WORDS: tuple[Word, ...] = (
    Word("Anchor face", "The face a plate sits on: the floor of its pocket, or the end of the piece."),
    Word("Apron", "The turned-down front or back of a slab, as before a sink."),
    Word("As installed", "The way up the piece lies in the end. Specifications describe it so, however it is cast."),
    Word("Batch", "One mixing. Its weights, its unit weight and its specimens belong together."),
    Word("Bearing", "How long a piece rests on a support; also the pressure there, and under a plate."),
    Word("Bow", "A curve sideways or up from rods or drying that are not even about the middle."),
    Word("Bursting", "Tension across the line of a rod, a little behind its plate, where its force spreads out."),
    Word("Cantilever", "What reaches past the last support. Its top is in tension where a span's bottom is."),
    Word("Capacity", "What a check allows. Demand over capacity is its ratio; at 1 there is nothing left."),
    Word("Core", "Foam inside the concrete: takes out weight where little stress is."),
    Word("Coupon", "A small flat specimen, bent till it cracks, to tell the first crack and the ultimate (ASTM C947)."),
    Word("Cover", "The least concrete between a sleeve and the nearest face."),
    Word("Creep", "What a stressed piece goes on shortening by, over months and years."),
    Word("Crown", "How far the middle stands above a straight line between the supports. The rods make it."),
    Word("Cylinder", "A specimen of concrete, pressed till it breaks, to tell the strength."),
    Word("Dead load", "What is always there: the piece itself, an upstand, a stone on top."),
    Word("Demand", "What the loads and the rods ask of the piece at a check."),
    Word("Elongation", "How much a rod stretches under its force. The surest sign of force but for a lift-off."),
    Word("Finding", "What a check says of one piece: demand, capacity, ratio, verdict, and its working."),
    Word("First crack", "The stress or the load at which the concrete begins to crack; fibres hold it from there."),
    Word("Form", "What the piece is cast in. Its check before the pour is the last look inside."),
    Word("GFRC", "Glass-fibre reinforced concrete: fine concrete with chopped alkali-resistant glass fibre in it."),
    Word("Grade", "The steel of a rod by its standard: decides its yield and its ultimate."),
    Word("Hold-down", "A support that can also keep the piece from lifting."),
    Word("Jacking force", "The force under the nut while it is tightened, before anything is lost."),
    Word("Lift-off", "A jack or a wrench just moves the nut from its plate: the force then is the force in the rod."),
    Word("Live load", "What comes and goes: people, goods, machines."),
    Word("Losses", "What a rod loses of its force: friction, seating, shortening, creep, shrinkage, relaxation."),
    Word("Mark", "The name of a design on drawings. C-104/2 is the second piece of mark C-104."),
    Word("Moist cure", "Days under wet covers. Drying, and so shrinkage, begins when they come off."),
    Word("Non-conformance", "Something that is not as the drawing has it. An engineer decides what becomes of it."),
    Word("Nut factor", "Torque over force and diameter: what thread, paste and washer make of a turn of the wrench."),
    Word("Plate", "The steel under a nut that spreads its force into the concrete."),
    Word("Pocket", "The recess in the end of a piece that a plate and its nut sit in."),
    Word("Pour", "The concrete of one or more pieces cast at one time."),
    Word("Premix", "Mix with the fibre stirred in and poured, as against sprayed up."),
    Word("Proof load", "A load put on a finished piece, watched by a gauge, to see that it behaves as worked out."),
    Word("Ratio", "Demand over capacity."),
    Word("Re-stressing", "Bringing the rods back to their force at a later age, when the early shrinkage is over."),
    Word("Release", "A person's word that a revision may be built: on a pass or a review, never on a fail."),
    Word("Residual tension", "What fibres still carry across an open crack."),
    Word("Revision", "One state of a design, by letter. None is ever changed; a change makes the next."),
    Word("Rod", "A threaded steel rod through a sleeve low in the piece, tightened by its nut."),
    Word("Scatter", "How far the true force of a rod may lie from what the wrench says."),
    Word("Seating", "What plates and washers sink in by as the force comes on."),
    Word("Shrinkage", "What concrete shortens by as it dries."),
    Word("Skin", "The concrete over and under a core."),
    Word("Sleeve", "The plastic tube a rod runs in, so that it never bonds."),
    Word("Soffit", "The underside."),
    Word("Specimen", "A cylinder, cube or coupon of the pour, kept beside the piece and broken to tell its strength."),
    Word("Standard piece", "A template of the shop with limits that were checked beforehand."),
    Word("Stressing", "Tightening the rods, rod by rod and step by step."),
    Word("Strip", "To take a piece out of its form."),
    Word("Tail", "The thread left past the nut at a stressed end, to hold the rod by."),
    Word("Transfer", "The moment just after stressing: most force in the rods, least strength in the concrete."),
    Word("Uplift", "A support that would rather lift than press, as behind a cantilever."),
    Word("Upstand", "What stands up from the back edge of a counter."),
    Word("Verdict", "Pass, review or fail: the worst of all findings."),
    Word("Wobble", "Small kinks of a sleeve that was not quite straight; they cost force by friction."),
    Word("Working", "The formula, the numbers put in, the answer: to be followed by hand."),
    Word("Zone", "A stretch of the piece with one cross-section."),
)
