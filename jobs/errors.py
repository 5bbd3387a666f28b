"""What can stand in the way of an action. Each says what happened and what to do; `code` never changes, the text may.

Raised by `jobs.access`, `jobs.gates` and `jobs.actions`; shown by the pages and the API with `http_status`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from django.core.exceptions import PermissionDenied
from django.http import Http404

from engineering.core.contract.refusal import Fault


@dataclass(frozen=True)
class Blocker:
    """One thing a gate waits for. `code` is stable; `text` is for the screen; `who` has it in hand."""

    code: str
    text: str
    who: str = ""


class ShopError(Exception):
    """Something could not be done, and nothing was written."""

    code: ClassVar[str] = "not-done"
    http_status: ClassVar[int] = 409
    default: ClassVar[str] = "That could not be done, and nothing was changed. Reload the page and try again."

    def __init__(self, message: str = "", *, blockers: Iterable[Blocker] = ()) -> None:
        self.message = message or self.default
        self.blockers: tuple[Blocker, ...] = tuple(blockers)
        super().__init__(self.message)

    def __str__(self) -> str:
        return self.message


class Unknown(ShopError, Http404):
    code, http_status = "unknown", 404
    default = (
        "There is no such thing here. It may have been a mistyped address; go back to the board and look for it there."
    )


class NotAllowed(ShopError, PermissionDenied):
    code, http_status = "not-allowed", 403
    default = "Your account may not do this. Ask the shop manager."


class BadEntry(ShopError):
    """A value that cannot be stored; `field` names it where there is one."""

    code, http_status = "bad-entry", 422
    default = "Something in this entry cannot be right. Correct it and save again."

    def __init__(self, message: str = "", *, field: str = "") -> None:
        self.field = field
        super().__init__(message)


class SpecificationNotAccepted(ShopError):
    """The document was refused; `faults` has every fault with its path."""

    code, http_status = "specification-refused", 422

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        count = len(self.faults)
        super().__init__(f"The specification was not saved: {count} {'thing' if count == 1 else 'things'} to correct.")


class EditConflict(ShopError):
    """Somebody else saved first. `newest` is what stands now, for the page to show beside what was typed."""

    code, http_status = "edit-conflict", 409
    default = (
        "Somebody else saved a change while you were working. Nothing of yours was written: compare the two, "
        "then save yours on top of theirs."
    )

    def __init__(self, message: str = "", *, newest: Any = None) -> None:
        self.newest = newest
        super().__init__(message)


class NothingChanged(ShopError):
    code, http_status = "nothing-changed", 409
    default = "This is the same as what is saved already, so there was nothing to save."


class Taken(ShopError):
    code, http_status = "taken", 409
    default = "That name is in use already. Choose another."


class StageMoved(ShopError):
    """The piece is not where the page showed it, or the shop has no such move."""

    code, http_status = "stage-moved", 409

    def __init__(self, piece: Any, to_stage: str) -> None:
        super().__init__(
            f"{piece} was not marked {to_stage}: it is no longer where this page shows it, or that move is "
            f"not one the shop makes. It is {piece.stage} now. Reload to see what comes next."
        )


class GateClosed(ShopError):
    code, http_status = "gate-closed", 409

    def __init__(self, what: str, blockers: Iterable[Blocker]) -> None:
        blockers = tuple(blockers)
        self.what = what
        super().__init__(f"{what}: {' '.join(blocker.text for blocker in blockers)}", blockers=blockers)


class NotNow(ShopError):
    """The entry does not fit where the piece is: wrong stage, wrong order of rods, finished already."""

    code, http_status = "not-now", 409


class RequestReused(ShopError):
    code, http_status = "request-reused", 409
    default = (
        "This entry's number (request_id) was used before for something else, so nothing was written. "
        "Make a new number for every entry."
    )


class Busy(ShopError):
    code, http_status = "busy", 503
    default = "The book is busy just now and nothing was written. Wait a moment and send it again."
