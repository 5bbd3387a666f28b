"""What the gates ask about one piece, each thing read once."""

from __future__ import annotations

from functools import cached_property

from engineering.core.contract.piece import Piece as DescribedPiece
from engineering.models import CheckRun
from engineering.queries import described_piece, latest_run
from jobs import strength_rule
from jobs.models import Design, Piece, Release, Revision, StrengthTest


def newest_revision(design: Design) -> Revision | None:
    return Revision.objects.filter(design=design).select_related("design", "specification").order_by("-number").first()


class Standing:
    """What the gates ask about one piece, each thing read once."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece

    @cached_property
    def newest(self) -> Revision | None:
        return newest_revision(self.piece.design)

    @cached_property
    def run(self) -> CheckRun | None:
        return latest_run(self.newest.specification) if self.newest else None

    @cached_property
    def release(self) -> Release | None:
        return Release.objects.filter(revision=self.newest).first() if self.newest else None

    @cached_property
    def described(self) -> DescribedPiece:
        """The piece as its own revision describes it, or the newest where it is bound to none."""
        revision = self.piece.revision or self.newest
        if revision is None:
            raise ValueError(f"{self.piece} has no specification yet")
        return described_piece(revision.specification)

    @cached_property
    def strength_test(self) -> StrengthTest | None:
        return strength_rule.newest_test(self.piece.pour)
