"""What waits to be sent, what was not taken, and what the phone cannot do."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "outbox.all-sent": _("All sent"),
    "outbox.to-send.one": _("Saved on this phone · {count} to send"),
    "outbox.to-send.other": _("Saved on this phone · {count} to send"),
    "outbox.photos-to-send.one": _("Recorded · {count} photo to send"),
    "outbox.photos-to-send.other": _("Recorded · {count} photos to send"),
    "outbox.not-taken.one": _("{count} not taken"),
    "outbox.not-taken.other": _("{count} not taken"),
    "outbox.nothing-kept": _("Nothing can be saved here"),
    "outbox.newer": _(
        "A newer version of these pages is ready. It is taken into use when nothing is in hand, and no other of them is open."
    ),
    "outbox.newer-waits": _(
        "A newer version of these pages is ready. It waits until nothing is left on this phone that is not on record."
    ),
    "outbox.clock-fast": _("This phone’s clock is {span} fast. The times on record are put right."),
    "outbox.clock-slow": _("This phone’s clock is {span} slow. The times on record are put right."),
    "outbox.lacks-secure": _(
        "This page came without encryption, so this browser makes no keys, uses no camera and keeps nothing. Open it by its"
        " address that begins with https. Until then you can read here; to sign, use the office’s own tablet or the paper form."
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
        "The log refused these, and they are not sent again by themselves. Show them to the office, or save them as a file for"
        " it. When the office has put right what was wrong, try again; else record what happened anew, then take the old one"
        " off this list."
    ),
    "outbox.photos-wait": _("Photos that wait"),
    "outbox.photos-wait-how.one": _(
        "{count} photo is sent as soon as the entry that names it is on record. It is not in the file: this phone has to send it."
    ),
    "outbox.photos-wait-how.other": _(
        "{count} photos are sent as soon as the entries that name them are on record. They are not in the file: this phone has to"
        " send them."
    ),
    "outbox.photos-parked": _("Photos not taken by the log"),
    "outbox.photo": _("Photo {name}…"),
    "outbox.too-large": _("It was refused on the way as too large."),
    "outbox.try-again": _("Try again"),
    "outbox.sent": _("On record"),
    "outbox.line": _("Line {seq} of {log}"),
    "outbox.at-member": _("at {path}"),
    "outbox.send-now": _("Send now"),
    "outbox.sending": _("Sending …"),
    "outbox.could-not": _("Not everything could be sent. It stays here, and is tried again by itself."),
    "outbox.done": _("Everything has been sent."),
    "outbox.not-all-taken": _("Everything has been sent, but not everything was taken. See below."),
    "outbox.save-file": _("Save as a file"),
    "outbox.save-file-how": _(
        "The file holds what waits, signed as it is. Carry it to the office: its machine takes it as it would have taken it from"
        " here. Sent twice does no harm."
    ),
    "outbox.take-off": _("Take off the list"),
    "outbox.take-off-sure": _("Take it off for good"),
    "outbox.taken-off": _("Taken off the list."),
}
