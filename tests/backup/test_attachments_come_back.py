"""What hangs on an order is in a backup, row and file, and is handed out again after a restore."""

from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from jobs.actions import attachments
from jobs.models import Attachment
from tests.factories import make_attachment, make_order, person

pytestmark = pytest.mark.django_db(transaction=True)


def test_row_file_and_removal_come_back(settings, tmp_path: Path) -> None:
    settings.DATA, settings.MEDIA_ROOT = tmp_path / "one", tmp_path / "one" / "uploads"
    settings.DATA.mkdir()
    order = make_order()
    kept = make_attachment(order)
    gone = make_attachment(make_order())
    attachments.take_off(gone, by=person(), reason="old")
    call_command("backup", str(tmp_path / "b"))
    call_command("flush", interactive=False, verbosity=0)
    settings.DATA, settings.MEDIA_ROOT = tmp_path / "two", tmp_path / "two" / "uploads"
    settings.DATA.mkdir()
    call_command("restore", str(tmp_path / "b"))
    client = Client()
    client.force_login(person("viewer"), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("attachment", args=[kept.pk])).content == b"The lift is 1.1 m wide."
    assert client.get(reverse("attachment", args=[gone.pk])).status_code == 404
    assert Path(Attachment.objects.get(pk=gone.pk).file.path).is_relative_to(tmp_path / "two")
