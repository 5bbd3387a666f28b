"""`check --deploy`: silent where full mode is set up right, and plain where it is not."""

from pathlib import Path

import pytest

from jobs.site import deploy_checks
from tests.site.processes import PATIENCE_S, Process, manage

FULL = {
    "SECRET_KEY": "k9" * 32 + "abcdefghijklmnopqrstuvwxyz",
    "DATABASE_URL": "postgres://shop:pw@127.0.0.1:1/shop",
    "REDIS_URL": "redis://127.0.0.1:1/0",
    "ALLOWED_HOSTS": "shop.internal",
    "CSRF_TRUSTED_ORIGINS": "https://shop.internal",
    "CAMBERBOOK_TLS": "1",
    "CAMBERBOOK_BEHIND_PROXY": "1",
}


def checked(folder: Path, **environment: str) -> tuple[int, str]:
    with Process(
        manage("check", "--deploy", "--fail-level", "WARNING"),
        log=folder / "log",
        CAMBERBOOK_DATA=str(folder / "data"),
        **environment,
    ) as process:
        return process.child.wait(PATIENCE_S), process.said()


def test_full_mode_is_clean(tmp_path: Path) -> None:
    code, said = checked(tmp_path, **FULL)
    assert (code, "no issues" in said) == (0, True), said


def test_a_bare_start_is_not_called_fit_to_deploy(tmp_path: Path) -> None:
    code, said = checked(tmp_path)
    assert code == 1
    assert "camberbook.W003" in said
    assert "camberbook.W004" in said


@pytest.mark.parametrize(
    ("change", "check", "ident"),
    [
        ({"ALLOWED_HOSTS": ["*"]}, deploy_checks.hosts_are_named, "camberbook.E002"),
        ({"ALLOWED_HOSTS": ["localhost"]}, deploy_checks.hosts_are_named, "camberbook.W003"),
        ({"TLS": False}, deploy_checks.traffic_is_encrypted, "camberbook.W004"),
    ],
)
def test_each_unsafe_setting_is_named(settings, change, check, ident: str) -> None:
    for name, value in change.items():
        setattr(settings, name, value)
    assert [message.id for message in check(None)] == [ident]


def test_a_key_of_ones_own_on_each_machine_is_an_error(settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SECRET_KEY", raising=False)
    settings.REDIS_URL = "redis://queue"
    assert [message.id for message in deploy_checks.secret_key_is_given(None)] == ["camberbook.E001"]
    monkeypatch.setenv("SECRET_KEY", "given")
    assert deploy_checks.secret_key_is_given(None) == []


@pytest.mark.parametrize(
    ("engine", "redis", "idents"),
    [
        ("sqlite3", "redis://queue", ["camberbook.W005"]),
        ("postgresql", "", ["camberbook.W006"]),
        ("sqlite3", "", []),
        ("postgresql", "redis://queue", []),
    ],
)
def test_the_two_services_go_together(settings, monkeypatch, engine: str, redis: str, idents: list[str]) -> None:
    settings.REDIS_URL = redis
    monkeypatch.setitem(settings.DATABASES["default"], "ENGINE", f"django.db.backends.{engine}")
    assert [message.id for message in deploy_checks.the_two_services_go_together(None)] == idents


def test_a_data_folder_that_others_can_read_is_told(settings, tmp_path: Path) -> None:
    settings.DATA = tmp_path
    tmp_path.chmod(0o755)
    assert [message.id for message in deploy_checks.data_is_private(None)] == ["camberbook.W007"]
    tmp_path.chmod(0o700)
    assert deploy_checks.data_is_private(None) == []
