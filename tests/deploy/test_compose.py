"""`docker-compose.yml` beyond its schema: what it names is there, what it fetches is pinned, nothing runs as root.

No container engine takes part: that the images build and start is not shown here. The same processes are started by
hand in `test_processes.py`.
"""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
COMPOSE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
EXACT = re.compile(r"^[a-z0-9./-]+:\d+\.\d+\.\d+[a-z0-9.-]*$|^[a-z0-9./-]+:\d+\.\d+-[a-z]+$")
each_service = pytest.mark.parametrize("name", SERVICES)


@each_service
def test_what_it_waits_for_is_there_and_can_be_waited_for(name: str) -> None:
    for other, how in SERVICES[name].get("depends_on", {}).items():
        assert other in SERVICES, f"{name} waits for {other}, which is no service"
        if how["condition"] == "service_healthy":
            assert "healthcheck" in SERVICES[other], f"{name} waits until {other} is well, but nothing looks"


@each_service
def test_its_volumes_and_networks_are_declared(name: str) -> None:
    for volume in SERVICES[name].get("volumes", []):
        source = volume.split(":")[0]
        assert source in COMPOSE["volumes"] or (ROOT / source).exists(), volume
    for network in SERVICES[name]["networks"]:
        assert network in COMPOSE["networks"]


def test_every_declared_volume_is_used() -> None:
    used = {volume.split(":")[0] for service in SERVICES.values() for volume in service.get("volumes", [])}
    assert set(COMPOSE["volumes"]) == used


@each_service
def test_its_image_is_exact_or_ours(name: str) -> None:
    image = SERVICES[name]["image"]
    if image.startswith("camberbook"):
        targets = re.findall(r"^FROM \S+ AS (\S+)", (ROOT / "Dockerfile").read_text(), re.MULTILINE)
        assert SERVICES[name]["build"]["target"] in targets
    else:
        assert EXACT.match(image), image


def test_the_images_of_the_dockerfile_are_exact() -> None:
    for image in re.findall(r"^FROM (\S+)", (ROOT / "Dockerfile").read_text(), re.MULTILINE):
        assert EXACT.match(image), image


def test_the_python_of_the_image_is_the_one_the_lock_was_made_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    oldest = project["requires-python"].removeprefix(">=")
    assert set(re.findall(r"^FROM python:(\d+\.\d+)", (ROOT / "Dockerfile").read_text(), re.MULTILINE)) == {oldest}


@each_service
def test_it_is_not_root_and_can_do_little(name: str) -> None:
    service = SERVICES[name]
    user, _, group = service["user"].partition(":")
    assert int(user) > 0
    assert int(group) > 0
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert "no-new-privileges:true" in service["security_opt"]
    assert not service.get("privileged")


def test_only_the_proxy_is_reachable_and_the_inside_leads_nowhere() -> None:
    assert [name for name, service in SERVICES.items() if service.get("ports")] == ["proxy"]
    assert COMPOSE["networks"]["inside"] == {"internal": True}
    assert [name for name, service in SERVICES.items() if "outside" in service["networks"]] == ["worker", "proxy"]


def test_everything_that_stays_up_is_watched() -> None:
    assert [name for name, service in SERVICES.items() if "healthcheck" not in service] == ["migrate"]


def test_every_variable_is_in_the_example_and_holds_no_secret() -> None:
    text = (ROOT / "docker-compose.yml").read_text()
    asked = set(re.findall(r"(?<!\$)\$\{([A-Z_]+)", text))
    example = dict(re.findall(r"^(?:# )?([A-Z_]+)=(.*)$", (ROOT / ".env.example").read_text(), re.MULTILINE))
    assert asked == set(example)
    assert {example[name] for name in example if re.search("KEY|PASS", name)} == {""}
    assert example["SECRET_KEY"] == example["POSTGRES_PASSWORD"] == ""
    for name in ("SECRET_KEY", "POSTGRES_PASSWORD", "SITE_NAME"):
        assert f"${{{name}:?" in text, f"{name} has to be asked for where it is missing"


def test_every_variable_given_to_the_site_is_one_it_reads() -> None:
    files = [*(ROOT / "jobs" / "site").glob("*.py"), ROOT / "reports" / "signing.py"]
    read = "".join(file.read_text() for file in files)
    for name in COMPOSE["x-site"]["environment"]:
        assert f'"{name}"' in read or f"'{name}'" in read, name


def test_the_worker_takes_from_every_queue() -> None:
    from django.conf import settings

    command = SERVICES["worker"]["command"]
    assert command[command.index("--queues") + 1].split(",") == list(settings.QUEUES)


def test_the_worker_may_finish_its_longest_task() -> None:
    from django.conf import settings

    assert int(SERVICES["worker"]["stop_grace_period"].removesuffix("s")) > settings.CELERY_TASK_TIME_LIMIT
    assert settings.CELERY_BROKER_TRANSPORT_OPTIONS.get("visibility_timeout", 1e9) > settings.CELERY_TASK_TIME_LIMIT


def test_only_what_the_image_needs_is_sent_to_the_engine() -> None:
    """Everything is left out but the files the Dockerfile copies: no .env, no data, no history."""
    lines = (ROOT / ".dockerignore").read_text().split()
    assert lines[0] == "**"
    copied = set(re.findall(r"^COPY (?!--from)(\S+)", (ROOT / "Dockerfile").read_text(), re.MULTILINE))
    allowed = {line.removeprefix("!") for line in lines if line.startswith("!")}
    assert allowed == {path.split("/")[0] for path in copied}
    assert all((ROOT / path).exists() for path in copied)
