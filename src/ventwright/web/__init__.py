"""The field page and its doors: HTTP, forms, pairing, events. Everything it does is an action."""

from ventwright.web.app import WebSettings, create_app
from ventwright.web.pairing import Device, DeviceBook

__all__ = ["Device", "DeviceBook", "WebSettings", "create_app"]
