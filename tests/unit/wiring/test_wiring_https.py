"""The local authority: what it signs, who believes it, where its key lies, how it is renewed."""

from __future__ import annotations

import hashlib
import os
import ssl
import stat
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from ventwright import wiring
from ventwright.cli import main
from ventwright.quantities import UserError
from ventwright.wiring import Authority, local_authority, renew_served
from ventwright.wiring.signing import Signed, make_server, read_signed

NOW = datetime.now(UTC).replace(microsecond=0)
NAMES = ("192.168.1.5", "van.local")
REFUSED = ssl.SSLCertVerificationError


def made(folder: Path, *, names: tuple[str, ...] = NAMES, now: datetime = NOW) -> Authority:
    return local_authority(folder, names=names, machine="van", now=now)


def believing(authority: Authority) -> ssl.SSLContext:
    """A client that trusts this authority and nobody else."""
    return ssl.create_default_context(cadata=authority.certificate_der)


def serving(pem_file: Path) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(pem_file)
    return context


def shake(server: ssl.SSLContext, client: ssl.SSLContext, name: str) -> bytes:
    """A handshake in memory, as OpenSSL holds it; returns the certificate that was accepted."""
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    here = client.wrap_bio(down, up, server_hostname=name)
    there = server.wrap_bio(up, down, server_side=True)
    for _ in range(6):
        for end in (here, there):
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
    found = here.getpeercert(binary_form=True)
    assert found is not None
    return found


def kept_key(folder: Path) -> Signed:
    found = read_signed((folder / "authority.pem").read_bytes())
    assert found is not None
    return found


@pytest.mark.parametrize("name", [*NAMES, "localhost", "127.0.0.1", "::1"])
def test_a_client_that_trusts_the_authority_alone_accepts_the_served_names(
    name: str, tmp_path: Path
) -> None:
    authority = made(tmp_path / "a")
    assert shake(serving(authority.server_file), believing(authority), name)


@pytest.mark.parametrize("name", ["192.168.1.6", "other.local", "van.local.evil.test", "8.8.8.8"])
def test_it_refuses_other_names(name: str, tmp_path: Path) -> None:
    authority = made(tmp_path / "a")
    with pytest.raises(REFUSED, match="mismatch"):
        shake(serving(authority.server_file), believing(authority), name)


def test_a_client_that_does_not_trust_it_refuses(tmp_path: Path) -> None:
    authority, other = made(tmp_path / "a"), made(tmp_path / "b")
    for client in (believing(other), ssl.create_default_context()):
        with pytest.raises(REFUSED):
            shake(serving(authority.server_file), client, "van.local")


@pytest.mark.parametrize(
    "name", ["bank.example", "notlocal", "8.8.8.8", "172.32.0.1", "2001:db8::1"]
)
def test_even_its_own_key_can_sign_nothing_outside_private_networks(
    name: str, tmp_path: Path
) -> None:
    """Held to by whoever verifies: OpenSSL here (RFC 5280, 4.2.1.10)."""
    authority = made(tmp_path / "a")
    stray = make_server(
        kept_key(tmp_path / "a"),
        names=(name,),
        from_time=NOW - timedelta(days=1),
        to_time=NOW + timedelta(days=1),
    )
    file = tmp_path / "stray.pem"
    file.write_bytes(stray.pem())
    with pytest.raises(REFUSED, match="permitted subtree violation"):
        shake(serving(file), believing(authority), name)


def test_it_can_sign_no_further_authority(tmp_path: Path) -> None:
    from cryptography import x509

    made(tmp_path / "a")
    found = kept_key(tmp_path / "a").certificate.extensions
    assert found.get_extension_for_class(x509.BasicConstraints).value.path_length == 0
    for kind in (x509.BasicConstraints, x509.NameConstraints, x509.KeyUsage):
        assert found.get_extension_for_class(kind).critical


def test_it_is_made_once_and_the_server_renewed_in_time(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    first = made(folder)
    served = first.server_file.read_bytes()
    again = made(folder, now=NOW + timedelta(days=19))
    assert (first.is_new, again.is_new) == (True, False)
    assert again.fingerprint == first.fingerprint
    assert again.server_file.read_bytes() == served
    later = made(folder, now=NOW + timedelta(days=21))
    assert later.fingerprint == first.fingerprint
    assert later.server_file.read_bytes() != served
    moved = made(folder, names=("10.0.0.7",))
    assert shake(serving(moved.server_file), believing(first), "10.0.0.7")
    with pytest.raises(REFUSED, match="mismatch"):
        shake(serving(moved.server_file), believing(first), "van.local")


def test_no_server_certificate_outlives_its_authority(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    first = made(folder)
    late = made(folder, now=first.runs_out_at - timedelta(days=29))
    assert late.is_new
    assert late.fingerprint != first.fingerprint
    assert late.public_file.read_bytes() == late.certificate_der
    served = read_signed(late.server_file.read_bytes())
    assert served is not None
    served.certificate.verify_directly_issued_by(kept_key(folder).certificate)


def test_a_running_server_goes_on_with_the_renewed_one(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    first = made(folder)
    running, client = serving(first.server_file), believing(first)
    before = shake(running, client, "van.local")
    renew_served(running, folder, names=NAMES, machine="van", now=NOW)
    assert shake(running, client, "van.local") == before
    renew_served(running, folder, names=NAMES, machine="van", now=NOW + timedelta(days=21))
    # Its life began a day before that, so a client of today can't judge it: only compare.
    client.check_hostname, client.verify_mode = False, ssl.CERT_NONE
    assert shake(running, client, "van.local") != before


def test_only_its_owner_can_read_it_whatever_the_habit_of_the_account(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        authority = made(tmp_path / "a")
    finally:
        os.umask(before)
    for path in (tmp_path / "a", *(tmp_path / "a").iterdir()):
        assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0, path
    assert b"PRIVATE" not in authority.public_file.read_bytes()
    assert b"PRIVATE" not in authority.certificate_der
    names = {path.name for path in (tmp_path / "a").iterdir()}
    assert names == {"authority.pem", "server.pem", "ventwright-authority.crt"}


@pytest.mark.parametrize(
    ("name", "mode"), [("", 0o755), ("", 0o710), ("authority.pem", 0o644), ("server.pem", 0o640)]
)
def test_a_key_that_others_can_read_is_refused(name: str, mode: int, tmp_path: Path) -> None:
    folder = tmp_path / "a"
    made(folder)
    (folder / name).chmod(mode)
    with pytest.raises(UserError, match="others may have read it") as caught:
        made(folder)
    (problem,) = caught.value.problems
    assert (problem.code, problem.where) == ("unsafe-key", str(folder / name))
    assert f"chmod {'600' if name else '700'} {folder / name}" in problem.remedy


def test_a_key_that_lies_elsewhere_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    made(folder)
    (folder / "authority.pem").rename(tmp_path / "moved.pem")
    (folder / "authority.pem").symlink_to(tmp_path / "moved.pem")
    with pytest.raises(UserError, match="must be its owner's alone"):
        made(folder)


def test_a_spoilt_key_is_said_and_not_replaced_unasked(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    made(folder)
    one, other = (folder / "authority.pem").read_bytes(), (folder / "server.pem").read_bytes()
    mixed = one.partition(b"-----BEGIN CERT")[0] + b"".join(other.partition(b"-----BEGIN CERT")[1:])
    for content in (b"", one[:300], mixed):
        (folder / "authority.pem").write_bytes(content)
        with pytest.raises(UserError, match="holds no key with its certificate"):
            made(folder)
        assert (folder / "authority.pem").read_bytes() == content


@pytest.mark.parametrize("name", ["8.8.8.8", "van.example", "local.example", "a b.local", "van"])
def test_it_is_not_made_for_what_is_not_private(name: str, tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        made(tmp_path / "a", names=(name,))
    assert caught.value.problems[0].code == "not-private"
    assert not (tmp_path / "a").exists()


def test_what_is_missing_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(wiring, "signing")
    monkeypatch.setitem(sys.modules, "ventwright.wiring.signing", None)
    with pytest.raises(UserError, match=r"pip install 'ventwright\[https\]'") as caught:
        made(tmp_path / "a")
    assert caught.value.problems[0].code == "not-installed"


def test_https_on_this_machine_alone_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "--https"]) == 2
    assert "--https goes with --lan" in capsys.readouterr().err


@pytest.fixture
def printed(tmp_path: Path) -> Iterator[list[str]]:
    """What the program prints; it serves until the test is done, and is then told to end."""
    words = ["serve", "--lan", "--https", "--address", "van.local", "--port", "0"]
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "ventwright",
            *words,
            "--database",
            f"sqlite:///{tmp_path / 'r.db'}",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "XDG_DATA_HOME": str(tmp_path / "data")},
    )
    assert process.stdout is not None
    lines = []
    for line in process.stdout:
        lines.append(line.rstrip("\n"))
        if line.startswith("Ctrl-C"):
            break
    yield lines
    process.terminate()
    out, trouble = process.communicate()
    assert "Traceback" not in out + trouble
    assert process.returncode == 0


def fetch(
    address: str, *, host: str = "", context: ssl.SSLContext | None = None
) -> tuple[int, str, bytes]:
    """Ask without following: status, where it sends to, body."""

    class Stay(urllib.request.HTTPRedirectHandler):
        def redirect_request(self, *_: object) -> None:
            return None

    handlers = [Stay(), *([urllib.request.HTTPSHandler(context=context)] if context else [])]
    request = urllib.request.Request(address, headers={"host": host} if host else {})
    try:
        with urllib.request.build_opener(*handlers).open(request) as answer:
            return answer.status, "", answer.read()
    except urllib.error.HTTPError as refused:
        with refused:
            return refused.code, refused.headers.get("location", ""), refused.read()


def test_served_pages_are_verified_and_the_terminal_shows_the_same_fingerprint(
    printed: list[str], tmp_path: Path
) -> None:
    text = "\n".join(printed)
    (first,) = [line for line in printed if "trust this machine:" in line]
    (second,) = [line for line in printed if "/pair#" in line]
    trust = first.rpartition(" ")[2]
    assert trust.startswith("http://van.local:")
    assert "https://van.local:" in second
    # The pairing code is never shown with an address that would send it in the clear.
    assert text.count("#") == 1
    plain = trust.rpartition(":")[2].partition("/")[0]
    secure = second.rpartition(":")[2].partition("/")[0]
    here = f"http://127.0.0.1:{plain}"
    status, _, certificate = fetch(
        f"{here}/trust/ventwright-authority.crt", host=f"van.local:{plain}"
    )
    assert status == 200
    digest = hashlib.sha256(certificate).hexdigest().upper()
    assert digest == "".join("".join(line.split()) for line in printed if line.startswith("     "))
    folder = tmp_path / "data" / "ventwright" / "authority"
    assert (folder / "ventwright-authority.crt").read_bytes() == certificate
    context = ssl.create_default_context(cadata=certificate)
    status, _, body = fetch(f"https://localhost:{secure}/", context=context)
    assert (status, b"Houses" in body) == (200, True)
    # Someone else, under the name that phones use: over https the pairing page, over http nothing.
    asked = fetch(f"https://localhost:{secure}/", host=f"van.local:{secure}", context=context)
    assert asked[:2] == (303, "/pair")
    assert fetch(f"{here}/", host=f"van.local:{plain}")[:2] == (303, "/trust")
    assert fetch(f"{here}/pair", host=f"van.local:{plain}")[:2] == (303, "/trust")
    assert fetch(f"{here}/")[0] == 200
    with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
        fetch(f"https://localhost:{secure}/", context=ssl.create_default_context())
