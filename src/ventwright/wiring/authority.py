"""A certificate authority of this machine's own, and the certificate that pages are served with.

The authority signs for addresses of private networks and names that never leave them, and says so
in a constraint that browsers hold it to (RFC 5280, 4.2.1.10). Its key stays in a folder that its
owner alone can read; a folder or a file that others can read is refused.
"""

from __future__ import annotations

import hashlib
import ipaddress
import os
import secrets
import ssl
import stat
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from ventwright.quantities import Problem, Severity, UserError

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

    from ventwright.wiring.signing import Signed

# RFC 1918, RFC 3927, RFC 4193, RFC 4291 and loopback: addresses nobody else on the internet has.
NETWORKS = tuple(
    ipaddress.ip_network(text)
    for text in (
        *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8"),
        *("fc00::/7", "fe80::/10", "::1/128"),
    )
)
# RFC 6762, RFC 8375, RFC 6761, and the name set apart for networks of one's own in 2024.
DOMAINS = ("local", "home.arpa", "internal", "localhost")
HERE = ("localhost", "127.0.0.1", "::1")
AUTHORITY_LIFE, SERVER_LIFE = timedelta(days=1826), timedelta(days=30)
RENEW_BEFORE = timedelta(days=10)
_KEPT, _SERVED, _PUBLIC = "authority.pem", "server.pem", "ventwright-authority.crt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Authority:
    """What a phone is asked to trust, and where the server's certificate lies.

    `fingerprint` is the SHA-256 of the certificate, in four lines; `public_file` may be carried to
    a phone by hand; `server_file` holds the server's key and certificate.
    """

    name: str
    certificate_der: bytes
    fingerprint: tuple[str, ...]
    runs_out_at: datetime
    public_file: Path
    server_file: Path
    is_new: bool


def local_authority(
    folder: Path, *, names: tuple[str, ...], machine: str, now: datetime
) -> Authority:
    """Find the authority and a server certificate in a folder, or make what is missing or old.

    Parameters
    ----------
    folder
        For this alone; made, readable by its owner alone, where it is missing.
    names
        Names and addresses of the server beside those of loopback.
    machine
        What people call this machine.
    now
        The time.

    Raises
    ------
    UserError
        ``not-private`` for a name or address that the authority must not sign for;
        ``unsafe-key`` where others can read what they must not; ``not-installed``.

    >>> import tempfile
    >>> from datetime import UTC
    >>> now = datetime(2026, 3, 4, tzinfo=UTC)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     made = local_authority(Path(folder, "a"), names=(), machine="van", now=now)
    ...     made.name, made.is_new, len(made.fingerprint)
    ('Ventwright on van, 2026-03-04', True, 4)
    """
    for name in names:
        check_private(name)
    signing = _signing()
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        _refuse_open(folder)
        kept = _read(folder / _KEPT)
        is_new = kept is None or kept.certificate.not_valid_after_utc - now < SERVER_LIFE
        if kept is None or is_new:
            kept = signing.make_authority(
                f"Ventwright on {machine}, {now:%Y-%m-%d}"[:64],
                networks=NETWORKS,
                domains=DOMAINS,
                from_time=now - timedelta(days=1),
                to_time=now + AUTHORITY_LIFE,
            )
            _write(folder / _KEPT, kept.pem())
            _write(folder / _PUBLIC, kept.der())
        served = _read(folder / _SERVED)
        wanted = tuple(dict.fromkeys((*HERE, *names)))
        if served is None or not _is_good(served.certificate, kept.certificate, wanted, now):
            served = signing.make_server(
                kept,
                names=wanted,
                from_time=now - timedelta(days=1),
                to_time=now + SERVER_LIFE,
            )
            _write(folder / _SERVED, served.pem())
    except OSError as trouble:
        raise UserError(
            f"can't keep the local authority in {folder}: {trouble.strerror or trouble}"
        ) from trouble
    return Authority(
        name=kept.name(),
        certificate_der=kept.der(),
        fingerprint=fingerprint_lines(kept.der()),
        runs_out_at=kept.certificate.not_valid_after_utc,
        public_file=folder / _PUBLIC,
        server_file=folder / _SERVED,
        is_new=is_new,
    )


def renew_served(
    context: ssl.SSLContext,
    folder: Path,
    *,
    names: tuple[str, ...],
    machine: str,
    now: datetime,
) -> Authority:
    """Let a running server go on with a certificate that has time left.

    Parameters
    ----------
    context
        Of the running server; connections made from now on use what it is given.
    folder, names, machine, now
        As `local_authority`.

    >>> import tempfile
    >>> from datetime import UTC
    >>> context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    >>> now = datetime(2026, 3, 4, tzinfo=UTC)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     renew_served(context, Path(folder, "a"), names=(), machine="van", now=now).is_new
    True
    """
    found = local_authority(folder, names=names, machine=machine, now=now)
    context.load_cert_chain(found.server_file)
    return found


def check_private(name: str) -> None:
    """Refuse a name or address that is not one of a private network.

    Parameters
    ----------
    name
        Name or address.

    Raises
    ------
    UserError
        ``not-private``.

    >>> check_private("192.168.1.5"), check_private("van.local")
    (None, None)
    """
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        is_private = any(
            name == domain or name.endswith(f".{domain}") for domain in DOMAINS
        ) and all(c.isascii() and (c.isalnum() or c in "-.") for c in name)
    else:
        is_private = any(address in network for network in NETWORKS)
    if is_private:
        return
    problem = Problem(
        code="not-private",
        where="address",
        message=f"the local authority signs for private networks alone, and {name!r} is not in one",
        remedy="give an address such as 192.168.1.5 with --address, or a name that ends in .local, "
        ".home.arpa or .internal",
        severity=Severity.MISTAKE,
    )
    raise UserError(f"{problem.message}; {problem.remedy}", problems=(problem,))


def fingerprint_lines(certificate_der: bytes) -> tuple[str, ...]:
    """SHA-256 of a certificate in four lines of eight bytes, as a person compares it.

    Parameters
    ----------
    certificate_der
        The certificate.

    >>> fingerprint_lines(b"")[0]
    'E3 B0 C4 42 98 FC 1C 14'
    """
    text = hashlib.sha256(certificate_der).hexdigest().upper()
    pairs = [text[i : i + 2] for i in range(0, len(text), 2)]
    return tuple(" ".join(pairs[i : i + 8]) for i in range(0, len(pairs), 8))


def _signing() -> ModuleType:
    """The part that needs a library of its own, which only those who serve over https need."""
    try:
        from ventwright.wiring import signing
    except ImportError as missing:
        problem = Problem(
            code="not-installed",
            where="https",
            message="certificates are made with the package cryptography, which is not installed",
            remedy="install it: pip install 'ventwright[https]'",
            severity=Severity.MISTAKE,
        )
        raise UserError(f"{problem.message}; {problem.remedy}", problems=(problem,)) from missing
    return signing


def _is_good(
    served: Certificate, authority: Certificate, wanted: tuple[str, ...], now: datetime
) -> bool:
    """Whether a server certificate is this authority's, for these names, with time left."""
    signing = _signing()
    return (
        served.not_valid_before_utc <= now <= served.not_valid_after_utc - RENEW_BEFORE
        and bool(signing.is_signed_by(served, authority))
        and set(signing.names_of(served)) == set(wanted)
    )


def _read(path: Path) -> Signed | None:
    if not path.exists() and not path.is_symlink():
        return None
    _refuse_open(path)
    found: Signed | None = _signing().read_signed(path.read_bytes())
    if found is None:
        raise UserError(
            f"{path} holds no key with its certificate; remove {path.parent} and start again: a "
            "new authority is made, which every phone then has to trust anew"
        )
    return found


def _refuse_open(path: Path) -> None:
    """Refuse what others than its owner can read or change."""
    if os.name != "posix":
        return  # elsewhere the user's own folder carries its rights
    found = path.lstat()
    if found.st_uid == os.geteuid() and not (
        stat.S_ISLNK(found.st_mode) or stat.S_IMODE(found.st_mode) & 0o077
    ):
        return
    want = "700" if path.is_dir() else "600"
    problem = Problem(
        code="unsafe-key",
        where=str(path),
        message="the key of the local authority must be its owner's alone, and others may have "
        f"read it here: {stat.filemode(found.st_mode)}, owner {found.st_uid}",
        remedy=f"if nobody else can have read it: chmod {want} {path}; otherwise remove the "
        "folder, take the authority off every phone, and let a new one be made",
        severity=Severity.MISTAKE,
    )
    raise UserError(f"{path}: {problem.message}; {problem.remedy}", problems=(problem,))


def _write(path: Path, content: bytes) -> None:
    """Write a file that nobody else can read at any moment, whole or not at all."""
    beside = path.with_name(f"{path.name}.{secrets.token_hex(4)}")
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
