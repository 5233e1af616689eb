"""A program that speaks to the service as any integrator's would: HTTPS, JSON, a bearer token."""

from __future__ import annotations

import json
import ssl
import time
import urllib.error
import urllib.request
import uuid
from dataclasses import dataclass
from email.message import Message
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Answer:
    status: int
    headers: Message
    content: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.content) if self.content else None


class Client:
    def __init__(self, address: str, certificate: Path, token: str = "") -> None:
        self.address, self.certificate, self.token = address, certificate, token
        self.trust = ssl.create_default_context(cafile=str(certificate))

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> Answer:
        url = path if path.startswith("https:") else self.address + path
        sent = {
            "Accept": "application/json",
            **{name.replace("_", "-"): value for name, value in headers.items()},
        }
        if self.token:
            sent["Authorization"] = f"Bearer {self.token}"
        data = None
        if method != "GET":
            data = json.dumps(body or {}).encode()
            sent = {"Content-Type": "application/json", "Idempotency-Key": f'"{uuid.uuid4()}"', **sent}
        request = urllib.request.Request(url, data=data, headers=sent, method=method)
        try:
            with urllib.request.urlopen(request, timeout=30, context=self.trust) as answer:
                return Answer(answer.status, answer.headers, answer.read())
        except urllib.error.HTTPError as refused:
            return Answer(refused.code, refused.headers, refused.read())

    def get(self, path: str, **headers: str) -> Any:
        answer = self.ask("GET", path, **headers)
        assert answer.status == 200, (path, answer.status, answer.content[:2000])
        return answer.json

    def post(self, path: str, body: Any = None, expect: int = 201, **headers: str) -> Answer:
        answer = self.ask("POST", path, body, **headers)
        assert answer.status == expect, (path, answer.status, answer.content[:2000])
        return answer

    def made(self, path: str, body: Any) -> Any:
        return self.post(path, body).json

    def follow(self, address: str, within_s: float = 90.0) -> Any:
        """A work item until it ends, asking as often as it says."""
        until = time.monotonic() + within_s
        while time.monotonic() < until:
            item = self.get(address)
            if item["state"] == "done":
                return item
            assert item["state"] in ("waiting", "running"), item
            time.sleep(0.5)
        raise AssertionError(f"{address} is still {item['state']} after {within_s} s")

    def signed_in(self, email: str, password: str) -> Client:
        answer = self.post(
            "/api/v1/sign-in/", {"email": email, "password": password, "device": "a program"}, 200
        )
        return Client(self.address, self.certificate, answer.json["token"])
