"""The stages of a piece and the moves the shop allows, as data a foreman can read."""

from django.db import models


class Stage(models.TextChoices):
    ORDERED = "ordered", "Ordered"
    DESIGNED = "designed", "Designed"
    RELEASED = "released", "Released"
    FORMED = "formed", "Formed"
    POURED = "poured", "Poured"
    CURING = "curing", "Curing"
    STRIPPED = "stripped", "Stripped"
    STRESSED = "stressed", "Stressed"
    LOAD_TESTED = "load-tested", "Load-tested"
    FINISHED = "finished", "Finished"
    DELIVERED = "delivered", "Delivered"
    INSTALLED = "installed", "Installed"
    HELD = "held", "Held"
    REJECTED = "rejected", "Rejected"


LINE: tuple[Stage, ...] = tuple(stage for stage in Stage if stage not in (Stage.HELD, Stage.REJECTED))

# Forward one stage at a time; load-tested only where the order asks for it, so stressed has two ways on.
MOVES: dict[Stage, tuple[Stage, ...]] = {
    Stage.ORDERED: (Stage.DESIGNED,),
    Stage.DESIGNED: (Stage.RELEASED,),
    Stage.RELEASED: (Stage.FORMED, Stage.DESIGNED),
    Stage.FORMED: (Stage.POURED, Stage.DESIGNED),
    Stage.POURED: (Stage.CURING,),
    Stage.CURING: (Stage.STRIPPED,),
    Stage.STRIPPED: (Stage.STRESSED,),
    Stage.STRESSED: (Stage.LOAD_TESTED, Stage.FINISHED),
    Stage.LOAD_TESTED: (Stage.FINISHED,),
    Stage.FINISHED: (Stage.DELIVERED,),
    Stage.DELIVERED: (Stage.INSTALLED,),
    Stage.INSTALLED: (),
    Stage.HELD: (),          # back to where it was held from: `Piece.held_from`
    Stage.REJECTED: (),
}

BEFORE_POUR = (Stage.ORDERED, Stage.DESIGNED, Stage.RELEASED, Stage.FORMED)
IN_BED = (Stage.POURED, Stage.CURING)
TIGHT = LINE[LINE.index(Stage.STRESSED) :]

# Where a piece can lie on a curing bed; held, it stays where it lies.
ON_A_BED = (Stage.FORMED, Stage.POURED, Stage.CURING, Stage.HELD)
