"""`manage.py serve`: the site, its worker and its beat in one process, stopped by Ctrl-C or SIGTERM."""

import logging
import signal
import threading
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from types import FrameType
from typing import Any

from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from django.urls import NoReverseMatch, reverse

from engineering import leases
from jobs.site import addresses, local_authority, one_server, setup_code, trust_server
from jobs.site.embedded import Embedded

THREADS = 4     # more only queue for the interpreter lock on a small machine
log = logging.getLogger("web")


class LoggingServer(Server):
    """Cheroot, with its complaints in our log."""

    def error_log(self, msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
        log.log(level, "%s", msg, exc_info=traceback)


class Command(BaseCommand):
    trust_address = ""
    help = "Run the site and its worker in this process. It prints the address and opens nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on; 0.0.0.0 lets tablets in")
        parser.add_argument("--port", type=int, default=8000,
                            help="port to listen on (default %(default)s); 0 takes a free one")
        parser.add_argument("--certificate",
                            help="PEM file; with --key the site speaks https, which tablets need to work offline")
        parser.add_argument("--key", help="PEM file of the certificate's private key")
        parser.add_argument("--tls", action="store_true",
                            help="https with an authority of the shop's own, made once; tablets come to trust it by a "
                                 "page that this prints")
        parser.add_argument("--trust-port", type=int,
                            help="port of that page, over plain http (default: the next one; 0 takes a free one)")

    def handle(self, *args: Any, host: str, port: int, certificate: str | None = None, key: str | None = None,
               tls: bool = False, trust_port: int | None = None, **options: Any) -> None:
        if bool(certificate) != bool(key):
            raise CommandError("--certificate and --key go together.")
        if tls and certificate:
            raise CommandError("Either --tls makes a certificate, or --certificate and --key name one.")
        if tls:
            certificate, key = self.own_certificate(host)
        if certificate and key:
            settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = settings.SECURE_SSL_REDIRECT = True
        server = self.listening(host, port, certificate, key)
        try:
            with self.alone():
                call_command("migrate", interactive=False, verbosity=0)
                self.before_serving()
                if tls:
                    settings.SECURE_REDIRECT_EXEMPT = [*settings.SECURE_REDIRECT_EXEMPT, "^trust/", "^static/"]
                server.wsgi_app = get_wsgi_application()
                with self.trust_door(server, host, trust_port) if tls else nullcontext():
                    self.run(server, host)
        except one_server.InUse as exc:
            raise CommandError(str(exc)) from exc
        finally:
            server.stop()       # twice does no harm

    def own_certificate(self, host: str) -> tuple[str, str]:
        """Made where it is not there or no longer serves."""
        try:
            files = local_authority.ready(settings.DATA / "tls", addresses.certified_for(host))
        except (OSError, ValueError) as exc:
            raise CommandError(f"No certificate could be made: {exc}") from exc
        return str(files.site), str(files.site_key)

    @contextmanager
    def trust_door(self, server: Server, host: str, trust_port: int | None) -> Iterator[None]:
        """Over plain http: how to trust the site, and nothing else of it."""
        name, port = addresses.shown_for(host)[-1], server.bind_addr[1]
        settings.SECURE_ADDRESS = f"https://{name}:{port}/"
        wanted = trust_port if trust_port is not None else port + 1 if port < 65535 else 0
        door = self.listening(host, wanted, None, None)
        door.wsgi_app = trust_server.door(server.wsgi_app, settings.SECURE_ADDRESS)
        threading.Thread(target=door.serve, name="trust door", daemon=True).start()
        self.trust_address = f"http://{name}:{door.bind_addr[1]}/trust/"
        try:
            yield
        finally:
            door.stop()

    def alone(self) -> AbstractContextManager[None]:
        """On SQLite this process is the only one; with PostgreSQL there may be many."""
        folders = one_server.folders()
        return one_server.alone(*folders) if folders else nullcontext()

    def listening(self, host: str, port: int, certificate: str | None, key: str | None) -> Server:
        """The server, bound to its port before anything else is done, so that a taken port changes nothing."""
        if not 0 <= port <= 65535:
            raise CommandError(f"--port {port} is not a port; choose one from 1 to 65535.")
        server = LoggingServer((host, port), None, numthreads=THREADS, server_name="Camberbook", request_queue_size=64)
        server.max_request_body_size = 64 * 1024 * 1024
        try:
            if certificate and key:
                server.ssl_adapter = BuiltinSSLAdapter(certificate, key)
            server.prepare()
        except (OSError, ValueError) as exc:
            server.stop()
            raise CommandError(self.why_not(exc, host, port)) from exc
        if settings.ALLOWED_HOSTS == settings.LOCAL_HOSTS:
            settings.ALLOWED_HOSTS = [*settings.LOCAL_HOSTS, *addresses.names_for(host)]
        return server

    def why_not(self, exc: Exception, host: str, port: int) -> str:
        if addresses.in_use(host, port):
            return f"Port {port} is in use, perhaps by another `serve`. Stop that, or choose another: --port {port + 1}"
        if not addresses.known(host):
            return f"--host {host} is not an address of this machine; 127.0.0.1 or 0.0.0.0 always are."
        return f"Cannot listen on {host} port {port}: {exc}"

    def before_serving(self) -> None:
        """What `demo` does more."""

    def run(self, server: Server, host: str) -> None:
        """Start the worker, then the web threads; return when told to stop, with running work finished."""
        stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, stopper(stop))
        worker = None if settings.REDIS_URL else Embedded()
        if one_server.folders():
            leases.end_all()        # whoever held them is gone
        serving = threading.Thread(target=server.serve, name="web", daemon=True)
        try:
            if worker:
                worker.start()
            else:
                self.say("REDIS_URL is set: the worker and beat are processes of their own (celery -A jobs.site …).")
            serving.start()
            self.announce(server, host)
            while not stop.wait(1):
                if not serving.is_alive():
                    raise CommandError("The web server has stopped; its reason is in the lines above.")
            self.say("Stopping: running work is finished first.")
        finally:
            server.stop()
            if worker:
                worker.stop()
        self.say("Stopped.")

    def announce(self, server: Server, host: str) -> None:
        scheme = "https" if server.ssl_adapter else "http"
        port = server.bind_addr[1]
        self.say("")
        self.say("Camberbook is running at")
        for name in addresses.shown_for(host):
            self.say(f"    {scheme}://{name}:{port}/")
        if self.trust_address:
            authority = local_authority.read_certificate(local_authority.Files(settings.DATA / "tls").authority)
            self.say("Once on each tablet, to trust it, with this fingerprint to compare:")
            self.say(f"    {self.trust_address}")
            self.say(f"    {local_authority.fingerprint(authority)}")
        if not get_user_model().objects.exists():
            self.say("There are no accounts yet. Make the manager's account, with this set-up code, at")
            self.say(f"    {scheme}://{addresses.shown_for(host)[0]}:{port}{first_account_path()}")
            self.say(f"    set-up code: {setup_code.make()}")
        self.say("Ctrl-C stops it.")

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def first_account_path() -> str:
    try:
        return reverse("first_account")
    except NoReverseMatch:
        return "/"


def stopper(stop: threading.Event) -> Any:
    def handler(number: int, frame: FrameType | None) -> None:
        stop.set()

    return handler
