"""Reading takes the same number of queries for one row as for many."""

from datetime import timedelta

import pytest
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from jobs import queries
from jobs.access import piece_for
from jobs.actions import orders, pieces
from jobs.models import Stage
from tests.factories import document, make_design, make_order, person, piece_at, read, revise, start, strength_test

pytestmark = pytest.mark.django_db


def count(call) -> int:
    from django.db import connection

    with CaptureQueriesContext(
        connection,
    ) as caught:
        call()
    return len(caught)


def show(board: queries.Board) -> list[str]:
    return [f"{piece} {piece.design.order} {piece.revision}" for column in board.columns for piece in column.pieces]


def test_the_board_takes_three_queries_however_many_pieces():
    make_design(pieces=2)
    few = count(lambda: show(queries.board()))
    order = make_order()
    for n in range(4):
        make_design(order, pieces=20, document=document(mark=f"D-{n}"))
    assert count(lambda: show(queries.board())) == few == 3


def test_the_board_shows_stages_held_and_late():
    late = make_order(due_date=timezone.localdate() - timedelta(days=1))
    held = make_design(late, pieces=2).pieces.first()
    pieces.hold(held, by=person(), reason="x")
    board = queries.board()
    assert [(column.stage, len(column.pieces)) for column in board.columns if column.pieces] == [(Stage.ORDERED, 1)]
    assert (board.held.pieces, board.held.count, board.late) == ([held], 1, 2)
    assert len(board.columns) == 12


def test_the_board_counts_all_and_shows_the_first_due_of_each_stage():
    late = make_order(due_date=timezone.localdate() - timedelta(days=1))
    make_design(pieces=queries.SHOWN_OF_A_STAGE + 3)
    first = make_design(late, document=document(mark="Z-9")).pieces.get()
    ordered = queries.board().columns[0]
    assert (ordered.count, len(ordered.pieces)) == (queries.SHOWN_OF_A_STAGE + 4, queries.SHOWN_OF_A_STAGE)
    assert ordered.pieces[0] == first


def test_the_board_leaves_out_rejected_pieces_and_archived_orders():
    gone = make_design()
    orders.archive_order(gone.order, by=person())
    pieces.reject(make_design().pieces.get(), by=person(), reason="x")
    assert show(queries.board()) == []


def test_the_board_finds_text_in_marks_and_clients():
    make_design(make_order(client="Mill Lane"), document=document(mark="T-1"))
    make_design(make_order(client="Harbour"), document=document(mark="T-2"))
    assert [piece.design.mark for column in queries.board(text="mill").columns for piece in column.pieces] == ["T-1"]
    assert [piece.design.mark for column in queries.board(text="t-2").columns for piece in column.pieces] == ["T-2"]


def test_orders_are_counted_in_one_query():
    order = make_order()
    make_design(order, pieces=3)
    make_design(order, pieces=2, document=document(mark="D-2"))
    pieces.reject(order.designs.first().pieces.first(), by=person(), reason="x")
    found = queries.order_list().get()
    assert (found.design_count, found.piece_count, found.installed_count) == (2, 4, 0)
    assert count(lambda: list(queries.order_list())) == 1


def test_an_order_page_takes_the_same_queries_for_one_design_as_for_six():
    order = make_order()
    make_design(order)

    def look():
        return [
            (
                line.design.mark,
                line.newest.letter,
                str(line.run),
                [f"{piece} {piece.revision}" for piece in line.pieces],
            )
            for line in queries.order_page(order)
        ]

    few = count(look)
    for n in range(5):
        revise(make_design(order, pieces=3, document=document(mark=f"D-{n}")))
    assert count(look) == few <= 5
    assert look()[0][1] == "A"
    assert look()[1][1] == "B"


def test_an_order_page_does_not_load_results():
    order = make_order()
    make_design(order)
    run = queries.order_page(order)[0].run
    assert "result" in run.get_deferred_fields()


def test_a_design_page_takes_the_same_queries_for_one_revision_as_for_many():
    design = make_design()

    def look():
        page = queries.design_page(design)
        return [(str(revision), str(revision.run), str(revision.made_by)) for revision in page.revisions], [
            str(event.by) for event in page.events
        ]

    few = count(look)
    for _ in range(4):
        revise(design)
    assert count(look) == few <= 6


def test_an_old_verdict_is_not_current_on_a_design_page():
    design = make_design()
    assert queries.design_page(design).is_current
    revise(design, verdict=None)
    page = queries.design_page(design)
    assert (page.newest.letter, page.is_current, page.is_working) == ("B", False, True)


def test_a_piece_page_takes_the_same_queries_with_few_and_with_many_entries():
    piece, manager = piece_at("stripped"), person()
    stressing = start(piece)

    def look():
        page = queries.piece_page(piece_for(manager, piece.pk))
        return [str(reading.by) for one in page.stressings for reading in one.newest_readings.values()], [
            test.mean_psi for test in page.strength_tests
        ]

    read(stressing, "R2", 0)
    few = count(look)
    for _ in range(3):
        strength_test(piece)
        read(stressing, "R2", 0)
    assert count(look) == few < 30


def test_a_piece_page_says_what_comes_next_and_what_is_missing():
    page = queries.piece_page(piece_at("formed"))
    assert [(str(move.to_stage), [blocker.code for blocker in move.blockers]) for move in page.moves] == [
        ("poured", ["form-not-checked", "no-pour"]),
        ("designed", []),
    ]


def test_an_ordered_piece_has_a_page_too():
    page = queries.piece_page(make_design(verdict=None).pieces.get())
    assert (page.installation, page.strength_tests, page.run.status) == (None, [], "waiting")


def test_events_of_a_piece_are_its_own_and_its_designs():
    design = make_design(pieces=2)
    first, second = design.pieces.all()
    pieces.hold(second, by=person(), reason="x")
    assert "piece-held" not in {event.verb for event in queries.events_for(piece=first)}
    assert {"design-made", "piece-held"} <= {event.verb for event in queries.events_for(piece=second)}
    assert queries.events_for().first().verb == "piece-held"
