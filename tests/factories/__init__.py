"""Orders, designs, pieces and people for tests: plain functions over the site's own actions, so that events are
there too.

`finished_checks` lands a made-up result on a waiting run by the worker's own door (claim, finish): tests of gates and
pages need a given verdict, not the engine's. The engine is tested in `tests/core`.
"""

from tests.factories.book import (
    DOCUMENT,
    PASSWORD,
    document,
    finished_checks,
    make_attachment,
    make_design,
    make_mix,
    make_order,
    make_wrench,
    newest,
    person,
    release,
    result_for,
    revise,
    token,
    without_rods,
)
from tests.factories.floor import (
    check_form,
    finish_ends,
    good_coupons,
    load_test,
    move,
    piece_at,
    plan_load_test,
    pour,
    pour_long_ago,
    read,
    read_load,
    start,
    strength_test,
    stress,
)

__all__ = [
    "DOCUMENT",
    "PASSWORD",
    "check_form",
    "document",
    "finish_ends",
    "finished_checks",
    "good_coupons",
    "load_test",
    "make_attachment",
    "make_design",
    "make_mix",
    "make_order",
    "make_wrench",
    "move",
    "newest",
    "person",
    "piece_at",
    "plan_load_test",
    "pour",
    "pour_long_ago",
    "read",
    "read_load",
    "release",
    "result_for",
    "revise",
    "start",
    "strength_test",
    "stress",
    "token",
    "without_rods",
]
