"""Reading for the pages and the API: each function takes a fixed number of queries, however many rows it shows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Count, F, Prefetch, Q, QuerySet, Subquery, Value, Window
from django.db.models.functions import RowNumber
from django.utils import timezone

from engineering.models import CheckRun, JobStatus
from engineering.queries import latest_run_ids
from jobs import gates
from jobs.errors import Blocker
from jobs.models import (
    Attachment,
    Design,
    Event,
    FormCheck,
    Installation,
    LoadTest,
    Order,
    Piece,
    Revision,
    Shop,
    Stage,
    StrengthTest,
    Stressing,
    StressingReading,
)
from jobs.stages import LINE, MOVES
from jobs.standing import Standing

SHOWN_OF_A_STAGE = 12  # on the board; the rest is one tap away
NEWEST_EVENTS = 50


# ---- board -----------------------------------------------------------------------------------------------------------


@dataclass
class BoardColumn:
    """One stage: how many pieces are there, and the first of them by due date; of what is installed, the newest."""

    stage: Stage
    pieces: list[Piece] = field(default_factory=list)
    count: int = 0


@dataclass
class Board:
    columns: list[BoardColumn]
    held: BoardColumn
    late: int  # pieces of orders past their due date and not installed


FIRST_DUE = (F("order_due").asc(nulls_last=True), "design_id", "serial")
NEWEST = ("-stage_since", "-pk")


def board_pieces(*, order: Order | None = None, text: str = "") -> QuerySet[Piece]:
    """Every piece of the open orders, the first due first; rejected pieces are left to their orders."""
    pieces = Piece.objects.filter(order_away=False).exclude(stage=Stage.REJECTED)
    if order is not None:
        pieces = pieces.filter(design__order=order)
    if text := text.strip():
        pieces = pieces.filter(
            Q(design__mark__icontains=text)
            | Q(design__order__number__icontains=text)
            | Q(design__order__client__icontains=text)
        )
    return pieces.select_related("design__order", "revision").order_by(*FIRST_DUE)


def board(*, order: Order | None = None, text: str = "") -> Board:
    """The pieces of `board_pieces` by stage: all counted, `SHOWN_OF_A_STAGE` of each there to be shown."""
    pieces = board_pieces(order=order, text=text)
    columns = {stage: BoardColumn(stage) for stage in [*LINE, Stage.HELD]}
    under_way = [stage for stage in columns if stage != Stage.INSTALLED]
    overdue = pieces.filter(stage__in=under_way, order_due__lt=timezone.localdate()).order_by().values(one=Value(1))
    how_many, late = Subquery(overdue.annotate(number=Count("*")).values("number")), 0
    for row in pieces.order_by().values("stage").annotate(count=Count("*"), late=how_many):
        columns[Stage(row["stage"])].count, late = row["count"], row["late"] or 0
    first = first_of_each(under_way, SHOWN_OF_A_STAGE)
    if order is not None or text.strip():
        place = Window(RowNumber(), partition_by="stage", order_by=FIRST_DUE)
        first = pieces.filter(stage__in=under_way).alias(place=place).filter(place__lte=SHOWN_OF_A_STAGE)
    installed = pieces.filter(stage=Stage.INSTALLED).order_by(*NEWEST)[:SHOWN_OF_A_STAGE]
    for piece in [*in_order(first), *installed]:
        columns[Stage(piece.stage)].pieces.append(piece)
    held = columns.pop(Stage.HELD)
    return Board(list(columns.values()), held, late)


def first_of_each(stages: Iterable[Stage], most: int) -> QuerySet[Piece]:
    """The first due of each stage, read off the index `piece_first_due`, however many there are. In no order."""
    open_pieces = Piece.objects.filter(order_away=False).order_by(*FIRST_DUE)
    of_each = [
        Piece.objects.filter(pk__in=open_pieces.filter(stage=stage).values("pk")[:most])
        .select_related("design__order", "revision")
        .order_by()
        for stage in stages
    ]
    return of_each[0].union(*of_each[1:], all=True)


def in_order(pieces: Iterable[Piece]) -> list[Piece]:
    """As FIRST_DUE puts them."""
    return sorted(pieces, key=lambda row: (row.order_due or date.max, row.design_id, row.serial))


def count_of_stages() -> dict[str, int]:
    """How many pieces of open orders there are at each stage."""
    open_pieces = Piece.objects.filter(order_away=False).order_by()
    return dict(open_pieces.values_list("stage").annotate(number=Count("*")))


# ---- orders ----------------------------------------------------------------------------------------------------------


def order_list(*, text: str = "", archived: bool = False, due_before: date | None = None) -> QuerySet[Order]:
    """Orders with `design_count`, `piece_count` and `installed_count`."""
    live = ~Q(designs__pieces__stage=Stage.REJECTED)
    orders = Order.objects.filter(archived_at__isnull=not archived).annotate(
        design_count=Count("designs", distinct=True),
        piece_count=Count("designs__pieces", filter=live, distinct=True),
        installed_count=Count("designs__pieces", filter=Q(designs__pieces__stage=Stage.INSTALLED), distinct=True),
    )
    if text := text.strip():
        orders = orders.filter(Q(number__icontains=text) | Q(client__icontains=text) | Q(site__icontains=text))
    if due_before:
        orders = orders.filter(due_date__lt=due_before)
    return orders.order_by(F("due_date").asc(nulls_last=True), "number")


@dataclass
class DesignLine:
    """A design of an order, as its page lists it."""

    design: Design
    newest: Revision
    run: CheckRun | None  # without its result document
    pieces: list[Piece]


def order_page(order: Order) -> list[DesignLine]:
    designs = (
        Design.objects.filter(order=order)
        .select_related("order")
        .prefetch_related(
            Prefetch(
                "revisions",
                Revision.objects.select_related("release")
                .defer("specification__document")
                .annotate(run_pk=latest_run_ids("specification"))
                .order_by("-number"),
                to_attr="newest_first",
            ),
            Prefetch("pieces", Piece.objects.select_related("revision").order_by("serial"), to_attr="in_order"),
        )
    )
    found = list(designs.order_by("mark"))
    runs = _light_runs().in_bulk([design.newest_first[0].run_pk for design in found])
    return [
        DesignLine(design, design.newest_first[0], runs.get(design.newest_first[0].run_pk), design.in_order)
        for design in found
    ]


def attachments_of(order: Order, piece: Piece | None = None) -> QuerySet[Attachment]:
    """Files of an order, those of its pieces with them; of a piece its own and those of the order as a whole. Newest
    first, with those that were taken off.
    """
    found = Attachment.objects.filter(order=order)
    if piece is not None:
        found = found.filter(Q(piece=piece) | Q(piece=None))
    return found.select_related("order", "piece__design", "by", "removal__by").order_by("-at", "-pk")


def beds() -> list[dict[str, Any]]:
    """[{name, piece}]: the shop's curing beds in its order, and the number of the piece on each, or None."""
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    lying = dict(Piece.objects.exclude(bed="").values_list("bed", "pk"))
    return [{"name": name, "piece": lying.get(name)} for name in shop.beds]


def _light_runs() -> QuerySet[CheckRun]:
    """Check runs without the two large documents."""
    return CheckRun.objects.select_related("specification").defer("result", "specification__document")


# ---- design ----------------------------------------------------------------------------------------------------------


@dataclass
class DesignPage:
    design: Design
    revisions: list[Revision]  # newest first, each with .run (result left out) and its release
    run: CheckRun | None  # of the newest revision, with its result
    pieces: list[Piece]
    events: list[Event]

    @property
    def newest(self) -> Revision:
        return self.revisions[0]

    @property
    def is_current(self) -> bool:
        """The newest revision's checks are done, by the engine of today: only then is its verdict the verdict."""
        return self.run is not None and self.run.is_current

    @property
    def is_working(self) -> bool:
        return self.run is not None and self.run.status in (JobStatus.WAITING, JobStatus.RUNNING)


def design_page(design: Design) -> DesignPage:
    found = (
        Revision.objects.filter(design=design)
        .select_related("design__order", "specification", "made_by", "release__accepted_by")
        .annotate(run_pk=latest_run_ids("specification"))
        .order_by("-number")
    )
    runs = _light_runs().in_bulk([revision.run_pk for revision in found])
    for revision in found:
        revision.run = runs.get(revision.run_pk)
    revisions: list[Revision] = list(found)
    newest_run = revisions[0].run
    run = CheckRun.objects.select_related("specification").get(pk=newest_run.pk) if newest_run else None
    pieces = list(Piece.objects.filter(design=design).select_related("design__order", "revision").order_by("serial"))
    return DesignPage(design, revisions, run, pieces, list(events_for(design=design)[:NEWEST_EVENTS]))


# ---- piece -----------------------------------------------------------------------------------------------------------


@dataclass
class NextMove:
    to_stage: Stage
    blockers: list[Blocker]  # empty: the way is free


@dataclass
class PiecePage:
    piece: Piece
    newest: Revision | None
    run: CheckRun | None  # of the revision the piece is bound to, or the newest; with its result
    moves: list[NextMove]
    stressing_blockers: list[Blocker]
    form_checks: list[FormCheck]
    strength_tests: list[StrengthTest]  # newest first, each with .mean_psi as cylinders
    stressings: list[Stressing]  # newest first, each with .newest_readings {(rod, step): reading}
    load_tests: list[LoadTest]
    installation: Installation | None
    events: list[Event]


def piece_page(piece: Piece) -> PiecePage:
    """Everything the tablet shows of one piece. `piece` as `access.piece_for` gives it."""
    standing = Standing(piece)
    revision = piece.revision or standing.newest
    run = CheckRun.objects.filter(specification=revision.specification).order_by("-pk").first() if revision else None
    return PiecePage(
        piece=piece,
        newest=standing.newest,
        run=run,
        moves=[NextMove(stage, gates.blockers(piece, stage)) for stage in MOVES[Stage(piece.stage)]],
        stressing_blockers=gates.stressing_blockers(piece) if piece.stage == Stage.STRIPPED else [],
        form_checks=list(piece.form_checks.select_related("by", "revision").order_by("-at", "-pk")),
        strength_tests=strength_tests_of(piece),
        stressings=stressings_of(piece),
        load_tests=list(piece.load_tests.select_related("by").order_by("-at", "-pk")),
        installation=getattr(piece, "installation", None),
        events=list(events_for(piece=piece)[:NEWEST_EVENTS]),
    )


def strength_tests_of(piece: Piece) -> list[StrengthTest]:
    return list(piece.pour.strength_tests.select_related("by").order_by("-at", "-pk")) if piece.pour else []


def stressings_of(piece: Piece) -> list[Stressing]:
    readings = Prefetch("readings", StressingReading.objects.select_related("by").order_by("recorded_at", "pk"))
    found = piece.stressings.select_related("wrench", "revision", "by").prefetch_related(readings)
    return list(found.order_by("-at", "-pk"))


# ---- events ----------------------------------------------------------------------------------------------------------


def events_for(
    *, order: Order | None = None, design: Design | None = None, piece: Piece | None = None
) -> QuerySet[Event]:
    """Newest first. Of a piece also what was done to its design before and since; of nothing in particular,
    everything.
    """
    events = Event.objects.select_related("by", "order", "design", "piece__design").order_by("-sequence")
    if piece is not None:
        return events.filter(Q(piece=piece) | Q(design=piece.design_id, piece=None))
    if design is not None:
        return events.filter(design=design)
    if order is not None:
        return events.filter(order=order)
    return events
