"""Which devices may look in: a pairing token for a while, then a token of each device's own.

Only hashes of the devices' tokens are kept. A device is known by its token alone and can be shut
out at any time.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import threading
import time
from collections import deque
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from ventwright.quantities import Problem, Severity, UserError

TRIES_A_MINUTE_COUNT = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A device that was let in."""

    id: str
    name: str
    token_sha256: str
    paired_at: str


class DeviceBook:
    """Devices that were let in, kept in a file of the user's own.

    Parameters
    ----------
    path
        The file.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     book = DeviceBook(Path(folder, "devices.json"))
    ...     token = book.let_in("Ada's phone")
    ...     book.who(token).name, book.who("guess")
    ("Ada's phone", None)
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Lock()

    def devices(self) -> tuple[Device, ...]:
        """All that may look in."""
        try:
            listed = json.loads(self.path.read_text(encoding="utf-8"))
            return tuple(Device(**one) for one in listed)
        except FileNotFoundError:
            return ()
        except (OSError, ValueError, TypeError) as trouble:
            raise UserError(f"can't read the paired devices in {self.path}: {trouble}") from trouble

    def let_in(self, name: str) -> str:
        """Let a device in; returns the token that only it will hold."""
        token = secrets.token_urlsafe(32)
        device = Device(
            id=secrets.token_hex(4),
            name=name,
            token_sha256=_sha256(token),
            paired_at=datetime.now(UTC).isoformat(timespec="seconds"),
        )
        with self._lock:
            self._keep((*self.devices(), device))
        return token

    def who(self, token: str) -> Device | None:
        """The device that holds a token; None if nobody does."""
        found = _sha256(token)
        return next(
            (d for d in self.devices() if secrets.compare_digest(d.token_sha256, found)), None
        )

    def revoke(self, device_id: str) -> Device:
        """Shut a device out.

        Raises
        ------
        UserError
            ``unknown-device``.
        """
        with self._lock:
            devices = self.devices()
            gone = next((d for d in devices if d.id == device_id), None)
            if gone is None:
                problem = Problem(
                    code="unknown-device",
                    where="device",
                    message=f"no paired device has the id {device_id!r}",
                    remedy="list them with: ventwright devices",
                    severity=Severity.MISTAKE,
                )
                raise UserError(f"{problem.message}; {problem.remedy}", problems=(problem,))
            self._keep(tuple(d for d in devices if d is not gone))
        return gone

    def _keep(self, devices: tuple[Device, ...]) -> None:
        beside = self.path.with_suffix(".part")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            beside.touch(mode=0o600)
            beside.write_text(json.dumps([asdict(d) for d in devices], indent=1), "utf-8")
            beside.replace(self.path)
        except OSError as trouble:
            raise UserError(f"can't write {self.path}: {trouble.strerror or trouble}") from trouble


class Door:
    """The pairing token of this run, and how often one may knock.

    Parameters
    ----------
    token
        What is printed with the address; empty lets nobody new in.
    """

    def __init__(self, token: str) -> None:
        self._token = token
        self._tries: deque[float] = deque()
        self._lock = threading.Lock()

    def is_open_to(self, token: str) -> bool:
        """Tell whether a token is the one printed."""
        return bool(self._token) and secrets.compare_digest(_sha256(token), _sha256(self._token))

    def may_try(self) -> bool:
        """Count a knock; False where there were too many within a minute, from anybody."""
        now = time.monotonic()
        with self._lock:
            while self._tries and now - self._tries[0] > 60.0:
                self._tries.popleft()
            if len(self._tries) >= TRIES_A_MINUTE_COUNT:
                return False
            self._tries.append(now)
            return True


def new_pairing_token() -> str:
    """A token that can't be guessed."""
    return secrets.token_urlsafe(18)


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
