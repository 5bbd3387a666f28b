"""One act, one transaction; a race lost against the database becomes words instead of an error page."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

from django.db import DatabaseError, IntegrityError, OperationalError, transaction

from jobs.errors import Busy, ShopError
from jobs.models import Event

Args = ParamSpec("Args")
Answer = TypeVar("Answer")
DEADLOCK, CANNOT_SERIALIZE = "40P01", "40001"  # PostgreSQL's sqlstate


class Collision(ShopError):
    code, http_status = "collision", 409
    default = (
        "Somebody saved the same thing at the same moment, so yours was not written. Reload to see what stands now."
    )


def one_act(action: Callable[Args, Answer]) -> Callable[Args, Answer]:
    """Run the action in one transaction, all of it or nothing.

    Two people (or one tap sent twice) at the same moment: the unique constraints let only one through. The other is run
    once more; it now reads what the first one wrote, and so finds its own event again or the reason why it cannot be.
    The same goes for a tap that was refused because its own first sending, under way at the same time, had done the
    thing already.
    """

    @functools.wraps(action)
    def act(*args: Args.args, **kwargs: Args.kwargs) -> Answer:
        try:
            with transaction.atomic():
                return action(*args, **kwargs)
        except ShopError:
            if not _landed_meanwhile(kwargs.get("request_id")):
                raise
        except (IntegrityError, OperationalError) as exc:
            if not _lost_a_race(exc):
                raise Busy from exc
        return _once_more(action, *args, **kwargs)

    return act


def _once_more(action: Callable[Args, Answer], *args: Args.args, **kwargs: Args.kwargs) -> Answer:
    try:
        with transaction.atomic():
            return action(*args, **kwargs)
    except IntegrityError as exc:
        raise Collision from exc
    except OperationalError as exc:
        raise Busy from exc


def _landed_meanwhile(request_id: Any) -> bool:
    return request_id is not None and Event.objects.filter(request_id=request_id).exists()


def _lost_a_race(exc: DatabaseError) -> bool:
    """True where a second try can succeed at once; a database that is locked or gone is no such case."""
    return isinstance(exc, IntegrityError) or getattr(exc.__cause__, "sqlstate", None) in (DEADLOCK, CANNOT_SERIALIZE)
