"""A shop of the first schema, with a piece from order to install and a signed record, comes to the schema of today:
every row is there as it was, the event log fits together, the pages read it, and work goes on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.test import Client

from jobs import event_chain
from jobs.actions import orders
from jobs.models import Event, Order, Person, Piece, Stage
from jobs.site.backup import rows
from reports.store import faults, kept_files
from tests.factories import person, piece_at
from tests.reports.issuing import issued

pytestmark = pytest.mark.django_db(transaction=True)
FIRST = [("engineering", "0001_initial"), ("jobs", "0001_initial"), ("reports", "0001_initial")]
Table = list[dict[str, Any]]


def migrate(to: list[tuple[str, str]] | None = None) -> Any:
    """To these, or to the newest of all; the models as they were then."""
    executor = MigrationExecutor(connection)
    executor.migrate(to or executor.loader.graph.leaf_nodes())
    executor = MigrationExecutor(connection)
    return executor.loader.project_state(to or executor.loader.graph.leaf_nodes()).apps


@pytest.fixture
def newest_again() -> Iterator[None]:
    """Whatever becomes of the test, the next one finds the schema of today."""
    yield
    call_command("flush", interactive=False, verbosity=0)
    migrate()


def columns(kind: Any) -> list[str]:
    return [field.attname for field in kind._meta.concrete_fields]


def kinds_of(models: Any) -> list[Any]:
    return [kind for kind in models.get_models() if kind._meta.app_label in dict(FIRST)]


def as_first(models: Any) -> dict[str, Table]:
    """The rows of today in the columns of the first schema."""
    return {
        kind._meta.label: list(apps.get_model(kind._meta.label)._default_manager.order_by("pk").values(*columns(kind)))
        for kind in kinds_of(models)
    }


def put(models: Any, shop: dict[str, Table]) -> None:
    with transaction.atomic():      # a row may point ahead until it ends
        for kind in kinds_of(models):
            for field in kind._meta.concrete_fields:
                field.auto_now_add = field.auto_now = False
            kind._default_manager.bulk_create(kind(**row) for row in shop[kind._meta.label])


def a_day_of_the_shop() -> str:
    """Row upon row by the site's own actions; the number of the record."""
    piece = piece_at(Stage.INSTALLED)
    orders.archive_order(piece.design.order, by=person())
    return issued().number


def pages_read_it(number: str) -> None:
    manager = Person.objects.filter(role="manager").first()
    assert manager is not None
    client = Client()
    client.force_login(manager, backend="django.contrib.auth.backends.ModelBackend")
    piece = Piece.objects.filter(stage=Stage.INSTALLED).get()
    pages = ["/board/", "/orders/", f"/orders/{piece.design.order_id}/", f"/designs/{piece.design_id}/",
             f"/pieces/{piece.pk}/", f"/records/{number}/", "/people/", "/shop/", "/shop/kept/", "/api/events/",
             f"/api/pieces/{piece.pk}/"]
    assert {page: client.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)
    assert str(piece) in client.get(f"/pieces/{piece.pk}/").content.decode()


def work_goes_on() -> None:
    before = max(Order.objects.values_list("pk", flat=True))
    assert orders.create_order(person(), number="after", client="After").pk > before
    assert list(event_chain.faults()) == []


def test_a_shop_of_the_first_schema_comes_along_whole(newest_again: None) -> None:
    number = a_day_of_the_shop()
    first_models = MigrationExecutor(connection).loader.project_state(FIRST).apps
    shop = as_first(first_models)
    filled = {label for label, table in shop.items() if table}
    assert {"jobs.Event", "jobs.StressingReading", "jobs.Installation", "reports.IssuedRecord"} <= filled
    assert len(filled) > 15
    call_command("flush", interactive=False, verbosity=0)

    put(migrate(FIRST), shop)
    with connection.cursor() as cursor:
        there = {column.name for column in connection.introspection.get_table_description(cursor, "jobs_person")}
    assert "pin_hash" not in there      # it is the first schema
    assert not {"jobs_photo", "jobs_keeping"} & set(connection.introspection.table_names())
    migrate()
    rows.continue_numbering()       # the rows were put there under their own numbers

    assert as_first(first_models) == shop
    assert list(event_chain.faults()) == []
    assert Event.objects.count() == len(shop["jobs.Event"])
    assert list(faults(kept_files())) == []
    assert {row.display_name for row in Person.objects.all()} == {
        f"{row['first_name']} {row['last_name']}" for row in shop["jobs.Person"]}
    pages_read_it(number)
    work_goes_on()
