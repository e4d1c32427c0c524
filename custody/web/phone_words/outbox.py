"""What waits to be sent, what was not taken, and what the phone cannot do."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "outbox.all-sent": _("All sent"),
    "outbox.to-send.one": _("Saved on this phone · {count} to send"),
    "outbox.to-send.other": _("Saved on this phone · {count} to send"),
    "outbox.not-taken.one": _("{count} not taken"),
    "outbox.not-taken.other": _("{count} not taken"),
    "outbox.newer": _("A newer version of this page is ready. It is taken into use when you go to another page."),
    "outbox.newer-waits": _(
        "A newer version of this page is ready. It waits until everything saved here has been sent."
    ),
    "outbox.clock-fast.one": _("This phone’s clock is {count} minute fast. The times on record are put right."),
    "outbox.clock-fast.other": _("This phone’s clock is {count} minutes fast. The times on record are put right."),
    "outbox.clock-slow.one": _("This phone’s clock is {count} minute slow. The times on record are put right."),
    "outbox.clock-slow.other": _("This phone’s clock is {count} minutes slow. The times on record are put right."),
    "outbox.lacks-secure": _(
        "This page came without encryption, so this browser makes no keys, uses no camera and keeps nothing. Open it by its"
        " address that begins with https, or use the office’s own tablet or the paper form."
    ),
    "outbox.lacks-ed25519": _(
        "This browser is too old to sign. You can read here, and decode a photo of a label. To sign, update the browser, or use"
        " the office’s own tablet or the paper form."
    ),
    "outbox.lacks-storage": _(
        "This browser keeps nothing, perhaps because the window is a private one. Open an ordinary window; until then use the"
        " paper form."
    ),
    "outbox.lacks-worker": _(
        "This browser cannot open these pages without a network. Once a page is open it goes on working: do not close it."
    ),
    "outbox.empty": _("Nothing waits. What was recorded on this phone has been sent."),
    "outbox.waits": _("Waits to be sent"),
    "outbox.parked": _("Not taken by the log"),
    "outbox.parked-why": _(
        "These were refused for their form, and will not be sent again by themselves. Record what happened anew, then take the"
        " old one off this list. Save it as a file first if the office should see it."
    ),
    "outbox.sent": _("On record"),
    "outbox.line": _("Line {seq} of {log}"),
    "outbox.at-member": _("at {path}"),
    "outbox.send-now": _("Send now"),
    "outbox.sending": _("Sending …"),
    "outbox.could-not": _("Not everything could be sent. It stays here, and is tried again by itself."),
    "outbox.done": _("Everything has been sent."),
    "outbox.save-file": _("Save as a file"),
    "outbox.save-file-how": _(
        "The file holds what waits, signed as it is. Carry it to the office: its machine takes it as it would have taken it from"
        " here. Sent twice does no harm."
    ),
    "outbox.take-off": _("Take off the list"),
    "outbox.take-off-sure": _("Take it off for good"),
    "outbox.taken-off": _("Taken off the list."),
}
