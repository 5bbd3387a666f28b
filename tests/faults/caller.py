"""A tablet that does not give up: it sends an entry again, under the same number, until it has an answer."""

import http.client
import json
import re
import time
import urllib.parse
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

PATIENCE_S = 150


@dataclass
class Tablet:
    """One key's calls to one site. `accepted` is what the shop was told is written down."""

    port: int
    key: str
    host: str = "localhost"
    headers: dict[str, str] = field(default_factory=dict)
    accepted: dict[str, Any] = field(default_factory=dict)
    tries: int = 0

    def once(self, method: str, path: str, sent: Any = None) -> tuple[int, Any]:
        """Status and answer of one call; (0, None) where the line broke."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        body = None if sent is None else json.dumps(sent)
        self.tries += 1
        try:
            line.request(method, path, body=body, headers={
                "Host": self.host, "Authorization": f"Token {self.key}", "Content-Type": "application/json",
                **self.headers})
            answer = line.getresponse()
            text = answer.read()
            is_json = "json" in (answer.getheader("Content-Type") or "")
            return answer.status, json.loads(text) if is_json else text
        except (OSError, http.client.HTTPException, json.JSONDecodeError):
            return 0, None
        finally:
            line.close()

    def ask(self, path: str) -> Any:
        return self._until_answered("GET", path, None)[1]

    def post(self, path: str, request_id: UUID, **sent: Any) -> Any:
        """The answer to an entry that must be taken; it then counts as accepted."""
        status, answer = self._until_answered("POST", path, {**sent, "request_id": str(request_id)})
        assert status in (200, 201, 202), (path, status, answer)
        self.accepted[str(request_id)] = path
        return answer

    def _until_answered(self, method: str, path: str, sent: Any) -> tuple[int, Any]:
        give_up = time.monotonic() + PATIENCE_S
        status, answer = 0, None
        while time.monotonic() < give_up:
            status, answer = self.once(method, path, sent)
            if status and status < 500 and status != 429:
                return status, answer
            time.sleep(0.1)
        raise AssertionError(f"no answer to {method} {path}: {status} {answer}")


class Browser:
    """A person at the pages, signed in by the form."""

    def __init__(self, port: int, *, host: str = "localhost", **headers: str) -> None:
        self.port, self.host, self.headers, self.cookies = port, host, headers, {}

    def call(self, method: str, path: str, form: dict[str, str] | None = None) -> tuple[int, str, str]:
        """Status, where it sends on to, and the page. ConnectionError where the line broke."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        headers = {"Host": self.host, **self.headers, "Referer": f"https://{self.host}/",
                   "Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        body = None
        if form is not None:
            body = urllib.parse.urlencode({**form, "csrfmiddlewaretoken": self.cookies.get("csrftoken", "")})
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            line.request(method, path, body=body, headers=headers)
            answer = line.getresponse()
            for name, value in answer.getheaders():
                if name.lower() == "set-cookie" and (found := re.match(r"([^=]+)=([^;]*)", value)):
                    self.cookies[found[1]] = found[2]
            return answer.status, answer.getheader("Location") or "", answer.read().decode(errors="replace")
        finally:
            line.close()

    def sign_in(self, name: str, password: str) -> None:
        self.call("GET", "/sign-in/")
        status, _, page = self.call("POST", "/sign-in/", {"username": name, "password": password})
        assert status == 302, page
