"""The whole grown setting on this machine without a container engine.

Every process of docker-compose.yml is started with its command and environment, stores included, behind the
TLS proxy with a certificate made on the spot.
"""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests.grown import compose, stores
from tests.grown.compose import ROOT, Service
from tests.grown.programs import Process, free_port, listens, program, start, wait_until

PROXY_CONFIGURATION = """
pid {folder}/nginx.pid;
error_log {folder}/nginx-error.log;
events {{}}
http {{
    access_log {folder}/nginx-access.log;
    client_body_temp_path {folder}/bodies;
    proxy_temp_path {folder}/proxied;
    fastcgi_temp_path {folder}/unused;
    uwsgi_temp_path {folder}/unused;
    scgi_temp_path {folder}/unused;
    include {folder}/site.conf;
}}
"""


@dataclass
class Grown:
    folder: Path
    services: dict[str, Service]
    https_port: int
    http_port: int
    stores: stores.Stores
    processes: dict[str, Process] = field(default_factory=dict)
    exit_codes: dict[str, int] = field(default_factory=dict)
    left_behind: dict[str, list[int]] = field(default_factory=dict)
    shorter: Mapping[str, str] = field(default_factory=dict)
    """Settings beside the file's own: short times, for tests that wait for them."""

    @property
    def address(self) -> str:
        return f"https://localhost:{self.https_port}"

    @property
    def certificate(self) -> Path:
        return self.folder / "certificate.pem"

    def environment_of(self, name: str) -> dict[str, str]:
        """What a container of the service would see: the file's environment and nothing of ours."""
        path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', '')}"
        return {"PATH": path, "HOME": str(self.folder), **self.services[name].environment, **self.shorter}

    def start(self, name: str) -> Process:
        service = self.services[name]
        command = [program_of(service.command[0]), *service.command[1:]]
        process = start(name, command, self.folder, self.environment_of(name), cwd=ROOT)
        self.processes[name] = process
        return process

    def healthy(self, name: str) -> bool:
        """The file's own health check, run as the engine would run it."""
        how, *words = self.services[name].healthcheck
        command = ["sh", "-c", words[0]] if how == "CMD-SHELL" else [program_of(words[0]), *words[1:]]
        asked = subprocess.run(
            command, cwd=ROOT, env=self.environment_of(name), capture_output=True, stdin=subprocess.DEVNULL
        )
        return asked.returncode == 0

    def manage(self, *words: str, **environment: str) -> str:
        """A management command in the web's environment."""
        done = subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=ROOT, env={**self.environment_of("web"), **environment},
            capture_output=True, text=True, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def start_all(self) -> None:
        setup = self.start("setup")
        assert setup.popen.wait(180) == 0, setup.log.read_text()[-3000:]
        self.exit_codes["setup"] = 0
        for name in ("web", "worker-soon", "worker-bulk", "beat"):
            self.start(name)
        self.start_proxy()
        wait_until(lambda: listens(self.https_port), self.processes["proxy"])
        for name in ("web", "worker-soon", "worker-bulk", "beat"):
            wait_until(lambda name=name: self.healthy(name), self.processes[name])  # type: ignore[misc]

    def start_proxy(self) -> None:
        """The image fills in the template from its environment; here the same is done with the same names."""
        service = self.services["proxy"]
        template = (ROOT / "contractor/config/proxy/waterside.conf.template").read_text()
        for name, value in service.environment.items():
            template = template.replace("${" + name + "}", value)
        (self.folder / "site.conf").write_text(template)
        configuration = self.folder / "nginx.conf"
        configuration.write_text(PROXY_CONFIGURATION.format(folder=self.folder))
        command = [
            program(service.command[0]),
            *service.command[1:],
            "-p",
            str(self.folder),
            "-c",
            str(configuration),
        ]
        self.processes["proxy"] = start("proxy", command, self.folder, self.environment_of("proxy"))

    def stop_all(self) -> None:
        for name, process in reversed(self.processes.items()):
            if name != "setup":
                self.exit_codes[name] = process.stop()
                self.left_behind[name] = process.left_behind()


def program_of(word: str) -> str:
    """Commands of our own virtual environment first, as in the image."""
    ours = Path(sys.executable).parent / word
    return str(ours) if ours.exists() else program(word)


def make_certificate(folder: Path) -> None:
    command = [
        program("openssl"), "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
        "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1",
        "-keyout", str(folder / "key.pem"), "-out", str(folder / "certificate.pem"),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True)


@contextmanager
def running(**shorter: str) -> Iterator[Grown]:
    folder = Path(tempfile.mkdtemp(prefix="waterside-grown-"))
    folder.chmod(0o755)
    try:
        make_certificate(folder)
        with stores.running() as pair:
            ports = {name: free_port() for name in ("WEB_PORT", "PROXY_HTTP_PORT", "PROXY_HTTPS_PORT")}
            variables = {
                **pair.variables,
                **{name: str(port) for name, port in ports.items()},
                "WEB_HOST": "127.0.0.1",
                "WEB_ADDRESS": f"127.0.0.1:{ports['WEB_PORT']}",
                "WATERSIDE_SECRET_KEY": secrets.token_urlsafe(50),
                "WATERSIDE_HOST": "localhost",
                "WATERSIDE_CONTRACTOR": "Northmoor Mechanical",
                "WATERSIDE_VAR": str(folder / "files"),
                "CERTIFICATES": str(folder),
                "CERTIFICATE_FOLDER": str(folder),
            }
            grown = Grown(
                folder, compose.read(variables), ports["PROXY_HTTPS_PORT"], ports["PROXY_HTTP_PORT"], pair,
                shorter=shorter,
            )  # fmt: skip
            try:
                grown.start_all()
                yield grown
            finally:
                grown.stop_all()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
