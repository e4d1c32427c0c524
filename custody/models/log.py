"""Log rows: the evidence itself. Only `custody.store` reads or writes them; the database refuses what is not appending.

A row is what the log says and no more. Nothing here is worked out from entries, except the hashes that prove the log's
integrity, and those are checked against the lines whenever the log is verified.
"""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class LogKind(models.TextChoices):
    """What a log is for. Only a rehearsal takes entries with a time of receipt given from outside."""

    MAIN = "main", _("in earnest")
    REHEARSAL = "rehearsal", _("rehearsal")
    REGISTER = "register", _("changes of register and policy")


class Log(models.Model):
    """One log of one jurisdiction: its head. Whoever appends locks this row first.

    `size` is the number of lines; the next sequence number. `created` is in Unix seconds.
    """

    jurisdiction = models.CharField(max_length=64)
    name = models.CharField(max_length=64)
    kind = models.CharField(max_length=16, choices=LogKind)
    origin = models.CharField(max_length=400, unique=True)
    size = models.BigIntegerField(default=0)
    created = models.BigIntegerField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "name"], name="custody_log_once"),)

    def __str__(self) -> str:
        return self.origin


class Line(models.Model):
    """One line of a log. `received` is in Unix seconds and stands in `body` as well; `body` is the canonical JSON.

    `entry_id` is the id of the entry in `body`; a line of the register log has none. `nodes` holds the hashes of the
    tree nodes that this line completes, 32 bytes each, its own leaf hash first (`ledger.merkle.completed_nodes`).
    """

    pk = models.CompositePrimaryKey("log_id", "seq")
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="+", db_index=False)
    seq = models.BigIntegerField()
    received = models.BigIntegerField()
    entry_id = models.CharField(max_length=36, null=True)  # noqa: DJ001 - none is not the same as an empty id
    body = models.TextField()
    nodes = models.BinaryField()

    class Meta:
        indexes = (
            models.Index(
                fields=["log", "entry_id", "seq"],
                name="custody_line_entry",
                condition=models.Q(entry_id__isnull=False),
            ),
        )

    def __str__(self) -> str:
        return f"{self.log_id}/{self.seq}"


class Checkpoint(models.Model):
    """What the log once signed of itself at a size: `note` is the whole signed note, `created` in Unix seconds."""

    pk = models.CompositePrimaryKey("log_id", "size")
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="+", db_index=False)
    size = models.BigIntegerField()
    root = models.BinaryField()
    note = models.TextField()
    created = models.BigIntegerField()

    def __str__(self) -> str:
        return self.note.partition("\n")[0]
