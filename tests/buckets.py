"""A server that speaks the S3 protocol over HTTP, and the bucket of one test, seen past the site."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import boto3
import pytest
from django.core.management import call_command
from moto.server import ThreadedMotoServer

from jobs.site import env

KEY, SECRET = "key-of-the-tests", "secret-of-the-tests"
NOBODY = "s3://nobody/shop?endpoint=http://127.0.0.1:9"  # the port of `discard`, where nobody listens


@pytest.fixture(scope="module")
def server() -> Iterator[ThreadedMotoServer]:
    made = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    made.start()
    yield made
    made.stop()


class Store:
    """A bucket and what is in it."""

    def __init__(self, endpoint: str, name: str) -> None:
        self.address = f"s3://{name}/shop?endpoint={endpoint}"
        self.client = boto3.client(
            "s3", endpoint_url=endpoint, aws_access_key_id=KEY, aws_secret_access_key=SECRET, region_name="us-east-1"
        )
        self.name = name
        self.client.create_bucket(Bucket=name)

    def keys(self) -> list[str]:
        return [found["Key"] for found in self.client.list_objects_v2(Bucket=self.name).get("Contents", [])]

    def put(self, key: str, data: bytes) -> None:
        self.client.put_object(Bucket=self.name, Key=key, Body=data)

    def get(self, key: str) -> bytes:
        return bytes(self.client.get_object(Bucket=self.name, Key=key)["Body"].read())

    def drop(self, key: str) -> None:
        self.client.delete_object(Bucket=self.name, Key=key)


def made_for(server: ThreadedMotoServer, test: str) -> Store:
    _, port = server.get_host_and_port()
    return Store(f"http://127.0.0.1:{port}", f"b{abs(hash(test)) % 10**9}")


def use(settings, address: str, *, records: bool = False) -> None:
    """Let the site keep its files there; "" for the data folder."""
    rest = {name: value for name, value in settings.STORAGES.items() if name not in ("default", "records")}
    settings.STORAGES = rest | env.kept_files(address, key=KEY, secret=SECRET, records=records)


def move_out(settings, folder: Path, address: str, *, records: bool = False) -> None:
    """An installation without a row or file, which keeps its files there from now on."""
    call_command("flush", interactive=False, verbosity=0)
    settings.DATA = folder
    settings.DATA.mkdir()
    settings.MEDIA_ROOT = settings.DATA / "uploads"
    use(settings, address, records=records)
