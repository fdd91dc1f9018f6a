"""The field page and its doors: HTTP, forms, pairing, events. Everything it does is an action."""

from ventwright.web.app import WebSettings, create_app
from ventwright.web.pairing import Device, DeviceBook
from ventwright.web.trust import TrustedAuthority

__all__ = ["Device", "DeviceBook", "TrustedAuthority", "WebSettings", "create_app"]
