"""By which names this machine can be reached, for `serve` to print and to let in."""

import socket

EVERYWHERE = {"0.0.0.0", "::", ""}      # noqa: S104  compared with, not bound to


def lan_address() -> str | None:
    """This machine's address on its network. Nothing is sent: connecting a datagram socket only picks the interface."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))     # RFC 5737: an address that belongs to nobody
            return str(probe.getsockname()[0])
        except OSError:
            return None


def names_for(host: str) -> list[str]:
    """The Host headers to let in when listening on `host`."""
    if host not in EVERYWHERE:
        return [f"[{host}]" if ":" in host else host]
    name = socket.gethostname().lower()
    return [part for part in (name, f"{name}.local", lan_address()) if part]


def certified_for(host: str) -> list[str]:
    """The names that a certificate for `host` stands for: those of the network first, then the machine to itself."""
    if host not in EVERYWHERE:
        return [host.strip("[]")]
    return [*([lan] if (lan := lan_address()) else []), *names_for(host)[:2], "localhost", "127.0.0.1"]


def shown_for(host: str) -> list[str]:
    """The names to print, the likeliest first."""
    if host not in EVERYWHERE:
        return [f"[{host}]" if ":" in host else host]
    return ["127.0.0.1", *([lan] if (lan := lan_address()) else [])]


def in_use(host: str, port: int) -> bool:
    """True if something answers on the port."""
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.settimeout(1)
        try:
            return probe.connect_ex(("127.0.0.1" if host in EVERYWHERE else host, port)) == 0
        except OSError:
            return False


def known(host: str) -> bool:
    """True if the name stands for an address at all."""
    try:
        return bool(socket.getaddrinfo(host or None, 0, type=socket.SOCK_STREAM))
    except (socket.gaierror, UnicodeError):
        return False
