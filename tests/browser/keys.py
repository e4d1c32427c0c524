"""Keys in a rhythm: a scanner's, or a hand's. The browser is told when each was pressed, so that no busy machine changes it."""

from __future__ import annotations

import time
from typing import Any

from playwright.sync_api import Page

WEDGE, HAND = 0.004, 0.06
"""Seconds from one key to the next."""
ENDS = {
    "Enter": {"key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13, "text": "\r"},
    "Tab": {"key": "Tab", "code": "Tab", "windowsVirtualKeyCode": 9},
}


def type_keys(page: Page, text: str, *, end: str = "Enter", every: float = WEDGE) -> None:
    """The last of them now, each other by its distance before; they come as fast as the browser takes them."""
    keys: list[dict[str, Any]] = [*({"key": sign, "text": sign} for sign in text), ENDS[end]]
    began = time.time() - every * len(keys)
    session = page.context.new_cdp_session(page)
    for place, key in enumerate(keys):
        event = {**key, "timestamp": began + every * place}
        session.send("Input.dispatchKeyEvent", {"type": "keyDown" if "text" in key else "rawKeyDown", **event})
        session.send("Input.dispatchKeyEvent", {"type": "keyUp", **event, "text": ""})
    session.detach()
