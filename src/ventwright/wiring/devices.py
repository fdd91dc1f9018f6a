"""The file of paired devices: beside the record, or in the user's data folder."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from ventwright.actions.record import Ledger
from ventwright.store.places import data_folder
from ventwright.web import Device, DeviceBook

_NAME = "devices.json"


def device_file(ledger: Ledger | None = None) -> Path:
    """Where paired devices are kept.

    Parameters
    ----------
    ledger
        The record; None takes the user's data folder.

    >>> device_file().name
    'devices.json'
    """
    if ledger is not None and ledger.store.file is not None:
        return ledger.store.file.with_name(_NAME)
    return Path(data_folder(os.environ, platform=sys.platform, home=str(Path.home())), _NAME)


def list_devices(ledger: Ledger | None = None) -> tuple[Device, ...]:
    """Devices that may look in.

    Parameters
    ----------
    ledger
        As `device_file`.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     list_devices(ledger)
    ()
    """
    return DeviceBook(device_file(ledger)).devices()


def revoke_device(device_id: str, ledger: Ledger | None = None) -> Device:
    """Shut a device out, at once.

    Parameters
    ----------
    device_id
        As `list_devices` gives it.
    ledger
        As `device_file`.

    Raises
    ------
    UserError
        ``unknown-device``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     _ = DeviceBook(device_file(ledger)).let_in("Ada's phone")
    ...     revoke_device(list_devices(ledger)[0].id, ledger).name
    "Ada's phone"
    """
    return DeviceBook(device_file(ledger)).revoke(device_id)
